"""The records of printers as a Django application."""

from __future__ import annotations

from django.apps import AppConfig


class PrintingConfig(AppConfig):
    """What the lines of 100 mm measured, printer by printer."""

    name = "wareboard.book.printing"
    label = "printing"
    verbose_name = "Printers"
