"""The studio's day and moment: never apart, whether the settings name a day or the clock does."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from django.conf import LazySettings
from django.utils import timezone

from wareboard.studio.today import now, today

LATE = datetime(2031, 3, 8, 4, 30, tzinfo=UTC)  # 23:30 of the evening before in New York


@pytest.mark.parametrize(
    ("zone", "clock"), [("UTC", "04:30"), ("America/New_York", "23:30"), ("Pacific/Auckland", "17:30")]
)
def test_a_day_that_is_named_keeps_the_hour_of_the_clock(
    zone: str, clock: str, settings: LazySettings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.WAREBOARD = replace(settings.WAREBOARD, today=date(2026, 11, 25))
    monkeypatch.setattr(timezone, "now", lambda: LATE)
    with timezone.override(ZoneInfo(zone)):
        here = timezone.localtime(now())
        assert (here.date(), f"{here:%H:%M}") == (today(), clock)


def test_without_a_named_day_it_is_the_clocks(settings: LazySettings, monkeypatch: pytest.MonkeyPatch) -> None:
    settings.WAREBOARD = replace(settings.WAREBOARD, today=None)
    monkeypatch.setattr(timezone, "now", lambda: LATE)
    with timezone.override(ZoneInfo("America/New_York")):
        assert (now(), today()) == (LATE, date(2031, 3, 7))
