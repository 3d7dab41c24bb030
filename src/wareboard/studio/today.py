"""The studio's clock: the only place where pages learn what day and time it is."""

from __future__ import annotations

from datetime import date, datetime

from django.conf import settings
from django.utils import timezone


def today() -> date:
    """The potter's own day, or the one that the settings name."""
    named: date | None = settings.WAREBOARD.today
    return named or timezone.localdate()


def now() -> datetime:
    """This moment."""
    return timezone.now()
