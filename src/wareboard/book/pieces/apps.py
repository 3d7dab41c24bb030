"""The records of finished pieces as a Django application."""

from __future__ import annotations

from django.apps import AppConfig


class PiecesConfig(AppConfig):
    """Clay lots, finished pieces, what they are made of, their photographs."""

    name = "wareboard.book.pieces"
    label = "pieces"
    verbose_name = "Finished pieces"
