"""The records of firings as Django knows them."""

from __future__ import annotations

from django.apps import AppConfig


class FiringsConfig(AppConfig):
    """Records of kilns and firings."""

    name = "wareboard.book.firings"
    label = "firings"
    default_auto_field = "django.db.models.BigAutoField"
