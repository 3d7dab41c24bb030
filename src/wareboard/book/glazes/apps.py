"""The glaze book as Django knows it."""

from __future__ import annotations

from django.apps import AppConfig


class GlazesConfig(AppConfig):
    """Records of materials, recipes, batches, tiles and tests."""

    name = "wareboard.book.glazes"
    label = "glazes"
    default_auto_field = "django.db.models.BigAutoField"
