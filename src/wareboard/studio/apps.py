"""The studio as Django knows it."""

from __future__ import annotations

from django.apps import AppConfig


class StudioConfig(AppConfig):
    """Pages of the workshop."""

    name = "wareboard.studio"
    label = "studio"

    def ready(self) -> None:
        """Before any form is made: what it says when it refuses."""
        from wareboard.studio.refusals import in_our_words

        in_our_words()
