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
    """This moment; on the day that the settings name if they name one, so that day and moment never lie apart."""
    moment, named = timezone.now(), settings.WAREBOARD.today
    if named is None:
        return moment
    here = timezone.localtime(moment)
    return datetime.combine(named, here.time(), here.tzinfo).astimezone(moment.tzinfo)
