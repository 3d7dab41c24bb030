"""The studio as Django knows it."""

from __future__ import annotations

from django.apps import AppConfig


class StudioConfig(AppConfig):
    """Pages of the workshop."""

    name = "wareboard.studio"
    label = "studio"
