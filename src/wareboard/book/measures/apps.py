"""The measurements as Django knows them."""

from __future__ import annotations

from django.apps import AppConfig


class MeasuresConfig(AppConfig):
    """Records of measurements."""

    name = "wareboard.book.measures"
    label = "measures"
    default_auto_field = "django.db.models.BigAutoField"
