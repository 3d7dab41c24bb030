"""The records of prototypes as a Django application."""

from __future__ import annotations

from django.apps import AppConfig


class PrototypesConfig(AppConfig):
    """Approvals, the client's pictures, tiles by colour."""

    name = "wareboard.book.prototypes"
    label = "prototypes"
    verbose_name = "Prototypes"
