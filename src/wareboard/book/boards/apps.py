"""The boards as Django knows them."""

from __future__ import annotations

from django.apps import AppConfig


class BoardsConfig(AppConfig):
    """Records of boards."""

    name = "wareboard.book.boards"
    label = "boards"
    default_auto_field = "django.db.models.BigAutoField"
