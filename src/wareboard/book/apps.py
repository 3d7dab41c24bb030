"""The book as Django knows it."""

from __future__ import annotations

from django.apps import AppConfig


class BookConfig(AppConfig):
    """Records of the workshop."""

    name = "wareboard.book"
    label = "book"
    default_auto_field = "django.db.models.BigAutoField"
