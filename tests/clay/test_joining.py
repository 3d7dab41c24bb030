"""The window for joining handles: against a plain walk through the hours, and the trade's rule."""

from __future__ import annotations

import numpy as np
import pytest

from tests.clay.working import meets_its_working
from wareboard.clay.air import Air
from wareboard.clay.damp_piece import Spell, handle_piece, straight_piece
from wareboard.clay.drying_belief import figures_of, usual_belief
from wareboard.clay.drying_course import curves
from wareboard.clay.joining import joining
from wareboard.errors import OutOfRange

ROOM = Air(20.0, 0.5)
OPEN = (Spell(ROOM),)
CUP, HANDLE = straight_piece(90.0, 105.0, 5.0, 6.0, 0.265), handle_piece(160.0, 22.0, 8.0, 0.265)


def walked(after_h: float, apart: float) -> tuple[float, float]:
    """First and last of the minutes in which wall and handle hold 15 to 23 % and lie within ``apart``, one by one."""
    best = figures_of(usual_belief(CUP, OPEN[0]).best[None, :])
    cup, handle = curves(CUP, OPEN, best), curves(HANDLE, OPEN, best)
    fits = []
    for minute in range(int(after_h * 60), 40 * 60, 2):
        waters = float(cup.water(minute / 60)[0, 0]), float(handle.water(minute / 60 - after_h)[0, 0])
        if min(waters) >= 0.15 and max(waters) <= 0.23 and abs(waters[0] - waters[1]) <= apart:
            fits.append(minute / 60)
    return fits[0], fits[-1]


@pytest.mark.parametrize(("after_h", "apart"), [(0.0, 0.03), (2.0, 0.03), (3.0, 0.02)])
def test_the_window_meets_a_walk_minute_by_minute(after_h: float, apart: float) -> None:
    """Soft to leather-hard, 15 to 23 % of the dry weight, and 2 to 3 points apart at most: common practice."""
    found = joining(CUP, HANDLE, OPEN, handle_after_h=after_h, apart=apart)
    assert found.from_h is not None
    assert found.until_h is not None
    assert (found.from_h.value, found.until_h.value) == pytest.approx(walked(after_h, apart), abs=0.06)
    assert found.look_at_h <= found.from_h.value < found.until_h.value
    meets_its_working(found.steps)


def test_held_back_by_the_hours_told_cup_and_handle_come_together() -> None:
    """At the middle of soft leather-hard, 21 %, both hold the same."""
    held_h = joining(CUP, HANDLE, OPEN).hold_back_h.value
    best = figures_of(usual_belief(CUP, OPEN[0]).best[None, :])
    cup, handle = curves(CUP, OPEN, best), curves(HANDLE, OPEN, best)
    hour = float(cup.even_until(0.21)[0, 0])
    assert float(handle.water(hour - held_h)[0, 0]) == pytest.approx(0.21, abs=1e-9)


def test_a_thin_handle_left_open_beside_a_wrapped_cup_never_meets_it() -> None:
    found = joining(CUP, handle_piece(120, 12, 4, 0.265), (Spell(ROOM, cover="tight"),), OPEN)
    assert found.from_h is None
    assert found.chance < 0.5
    assert found.hold_back_h.value > 24
    assert "hardly meet" in found.words


def test_a_cover_gives_more_time() -> None:
    covered = joining(CUP, HANDLE, (Spell(ROOM, cover="light"),))
    plain = joining(CUP, HANDLE, OPEN)
    assert covered.from_h is not None
    assert covered.until_h is not None
    assert plain.from_h is not None
    assert plain.until_h is not None
    assert covered.until_h.value - covered.from_h.value > 3 * (plain.until_h.value - plain.from_h.value)


def test_closer_asked_for_is_a_shorter_window() -> None:
    widths = []
    for apart in (0.015, 0.02, 0.03):
        found = joining(CUP, HANDLE, OPEN, handle_after_h=2.0, apart=apart)
        assert found.from_h is not None
        assert found.until_h is not None
        widths.append(found.until_h.value - found.from_h.value)
    assert np.all(np.diff(widths) >= 0)


def test_no_distance_and_a_delay_below_nought_are_refused() -> None:
    with pytest.raises(OutOfRange, match="most apart"):
        joining(CUP, HANDLE, OPEN, apart=0.0)
    with pytest.raises(OutOfRange, match="delay of the handles"):
        joining(CUP, HANDLE, OPEN, handle_after_h=-1.0)
