"""What was learned, as Django knows it."""

from __future__ import annotations

from django.apps import AppConfig


class LearningConfig(AppConfig):
    """Records left out, new lots, times written by hand, figures kept with a commission."""

    name = "wareboard.book.learning"
    label = "learning"
    default_auto_field = "django.db.models.BigAutoField"
