"""The people as Django knows them."""

from __future__ import annotations

from django.apps import AppConfig


class PeopleConfig(AppConfig):
    """Records of people and their phones."""

    name = "wareboard.book.people"
    label = "people"
    default_auto_field = "django.db.models.BigAutoField"
