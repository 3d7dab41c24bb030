"""Since when, as people write it. Dates by Python's own calendar; the moments are invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from wareboard.errors import OutOfRange, Unreadable
from wareboard.studio.bench.since_when import since_when

NOW = datetime(2026, 11, 25, 14, 30, tzinfo=UTC)  # a Wednesday
NOON_OF_THE_20TH = datetime(2026, 11, 20, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    "written",
    ["20 Nov", "20 november 2026", "Nov 20", "20.11.", "20.11.2026", "20/11", "11/20/26", "2026-11-20", "fri"],
)
def test_a_day_is_read_however_it_is_written_and_taken_by_its_noon(written: str) -> None:
    assert since_when(written, NOW) == NOON_OF_THE_20TH


@pytest.mark.parametrize(
    ("written", "ago"),
    [
        ("", timedelta(0)),
        ("now", timedelta(0)),
        ("3 days", timedelta(days=3)),
        ("5h", timedelta(hours=5)),
        ("1.5 d ago", timedelta(hours=36)),
        ("2 weeks", timedelta(days=14)),
        ("9:30", timedelta(hours=5)),
        ("yesterday 16:30", timedelta(hours=22)),
        ("2026-11-24T16:30:00", timedelta(hours=22)),
        ("today", timedelta(hours=2, minutes=30)),
        ("Wednesday", timedelta(hours=2, minutes=30)),
    ],
)
def test_how_long_and_the_time_of_the_day_are_read(written: str, ago: timedelta) -> None:
    assert NOW - since_when(written, NOW) == ago


def test_a_month_to_come_is_that_of_last_year() -> None:
    assert since_when("28 Dec", NOW).year == 2025


def test_today_before_noon_is_now_and_never_to_come() -> None:
    morning = NOW.replace(hour=8)
    assert since_when("today", morning) == morning


@pytest.mark.parametrize("written", ["soon", "31 Feb", "20", "t", "1/2/3/4", "-3 days", "<b>", "frog", "0000-00-00"])
def test_what_is_no_day_is_refused_in_words(written: str) -> None:
    with pytest.raises(Unreadable, match="no day that can be told"):
        since_when(written, NOW)


@pytest.mark.parametrize("written", ["3/4", "3/4/2026", "12/11"])
def test_a_date_of_which_either_figure_may_be_the_month_is_refused(written: str) -> None:
    with pytest.raises(Unreadable, match="either figure may be the month"):
        since_when(written, NOW)


@pytest.mark.parametrize("written", ["16:30", "2026-11-26", "1 Jan 2019", "300 weeks"])
def test_what_is_to_come_or_long_gone_is_refused(written: str) -> None:
    with pytest.raises(OutOfRange):
        since_when(written, NOW)
