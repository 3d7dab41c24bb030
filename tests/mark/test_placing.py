"""Repeats round a piece: against n = pi D / pitch worked by hand, and laws of even spacing."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.errors import OutOfRange
from wareboard.mark.gaps import Standing
from wareboard.mark.placing import Keep, placed
from wareboard.working import worked_out

CYLINDER = [(0.0, 45.0), (95.0, 45.0)]
CONE = [(0.0, 30.0), (80.0, 54.0)]


def test_a_wanted_pitch_is_changed_until_a_whole_number_goes_round() -> None:
    """By hand: pi x 90 = 282.74 mm; at 30 mm 9.42 go round, so 9 of 31.42 mm."""
    found = placed(CYLINDER, 20, 20, 50, pitch_mm=30)
    assert len(found.places) == 9
    assert found.pitch_mm == pytest.approx(31.416, abs=1e-3)
    assert found.places[1].angle_deg == pytest.approx(40.0)
    assert found.places[1].round_mm == pytest.approx(31.416, abs=1e-3)
    for step in found.steps:
        assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)


def test_heights_are_given_by_ruler_and_along_the_wall() -> None:
    """By hand: a cone 80 high leaning out 24 has a wall of 83.52; half way up it is 41.76 from either end."""
    place = placed(CONE, 20, 20, 40).places[0]
    assert place.height_mm == pytest.approx(40)
    assert place.along_mm == pytest.approx(41.76, abs=0.005)
    assert place.below_rim_mm == pytest.approx(41.76, abs=0.005)
    assert "41.8 mm down the wall" in place.words


def test_the_handle_stands_in_the_middle_of_a_gap_where_the_gap_is_wide_enough() -> None:
    found = placed(CYLINDER, 20, 20, 50, count=4, keep=Keep(handle_mm=20))
    assert [place.angle_deg for place in found.places] == pytest.approx([45, 135, 225, 315])


def test_where_it_is_not_the_marks_share_what_the_handle_leaves() -> None:
    """By hand: 8 at 45 degrees leave 22.5 from the handle; half a mark, half the handle and its gap need more."""
    found = placed(CYLINDER, 24, 20, 50, count=8, keep=Keep(handle_mm=30, beside_handle_mm=3))
    angles = np.array([place.angle_deg for place in found.places])
    first = math.degrees((15 + 3 + 12) / 45)
    assert angles[0] == pytest.approx(first)
    assert np.diff(angles) == pytest.approx(np.full(7, (360 - 2 * first) / 7))
    assert angles[-1] == pytest.approx(360 - first)


def test_a_single_mark_stands_opposite_the_handle() -> None:
    assert placed(CYLINDER, 20, 20, 50, keep=Keep(handle_mm=20)).places[0].angle_deg == pytest.approx(180)


@given(st.integers(1, 12), st.floats(3.0, 60.0), st.floats(0.0, 60.0), st.floats(20.0, 80.0), st.floats(20.0, 80.0))
def test_marks_never_touch_each_other_or_the_handle(
    count: int, width: float, handle: float, foot: float, rim: float
) -> None:
    wall = [(0.0, foot), (90.0, rim)]
    keep = Keep(handle_mm=handle)
    try:
        found = placed(wall, width, 20, 45, count=count, keep=keep)
    except OutOfRange as refused:
        assert "mark" in refused.what
        return
    angles = np.radians([place.angle_deg for place in found.places])
    reach = 10.0 * 90 / math.hypot(90, rim - foot)  # ten along the leaning wall, as height
    narrowest = min(np.interp([45 - reach, 45 + reach], [0, 90], [foot, rim]))
    if count > 1:
        between = np.diff(np.concatenate([angles, [angles[0] + 2 * np.pi]]))
        assert between.min() * narrowest > width - 1e-6
    if handle:
        off = np.minimum(angles, 2 * np.pi - angles) * narrowest
        assert off.min() > handle / 2 + width / 2 + keep.beside_handle_mm - 1e-6


SPOUT = Standing("spout", 180.0, 20.0, 20.0, 80.0)


def test_a_single_mark_stands_half_way_between_handle_and_spout() -> None:
    """By symmetry: as far from the handle as from the spout, each with its gap."""
    found = placed(CYLINDER, 20, 20, 50, keep=Keep(handle_mm=20, others=(SPOUT,)))
    handle, spout = math.degrees((10 + 3) / 45), 20 + math.degrees(3 / 45)
    assert found.places[0].angle_deg == pytest.approx((handle + 180 - spout) / 2)
    assert found.words == "evenly all the way round, turned clear of handle and spout"
    assert found.origin == "the middle of the handle"


def test_an_even_number_stays_where_it_was_and_says_that_it_is_clear_of_the_spout() -> None:
    found = placed(CYLINDER, 20, 20, 50, count=4, keep=Keep(handle_mm=20, others=(SPOUT,)))
    assert [place.angle_deg for place in found.places] == pytest.approx([45, 135, 225, 315])
    assert found.words == "evenly all the way round, the handle in the middle of one gap, clear of the spout"


def test_three_are_turned_so_that_none_is_under_the_spout() -> None:
    """By symmetry: 120 apart, one would stand at 180; a quarter of a gap further round all are as far off as can be."""
    near = Standing("spout", 180.0, math.degrees(10 / 45))  # as wide as the handle
    found = placed(CYLINDER, 12, 20, 50, count=3, keep=Keep(handle_mm=20, others=(near,)))
    assert [place.angle_deg for place in found.places] == pytest.approx([30, 150, 270])


def test_a_mark_below_the_pull_of_a_lip_does_not_mind_it() -> None:
    lip = Standing("lip", 180.0, 30.0, 70.0, 95.0)
    below = placed(CYLINDER, 20, 20, 50, keep=Keep(handle_mm=20, others=(lip,)))
    assert below.places[0].angle_deg == pytest.approx(180)
    level = placed(CYLINDER, 20, 20, 65, keep=Keep(handle_mm=20, others=(lip,)))
    assert "turned clear of handle and lip" in level.words


def test_without_a_handle_angles_are_from_the_spout_and_it_stands_in_a_gap() -> None:
    spout = Standing("spout", 0.0, 20.0, 20.0, 80.0)
    found = placed(CYLINDER, 20, 20, 50, count=2, keep=Keep(others=(spout,)))
    assert [place.angle_deg for place in found.places] == pytest.approx([90, 270])
    assert found.origin == "the middle of the spout"
    assert found.words == "evenly all the way round, the spout in the middle of one gap"


def test_what_does_not_go_beside_handle_and_spout_is_refused_with_what_would() -> None:
    """By hand: each side leaves 180 - 20 - 3.8 - 16.6 = 139.6 degrees or 109.7 mm: three of 30 mm each."""
    keep = Keep(handle_mm=20, others=(SPOUT,))
    with pytest.raises(OutOfRange, match="at most 6") as refused:
        placed(CYLINDER, 30, 20, 50, count=7, keep=keep)
    assert "the handle and spout leave 219.3 mm free" in str(refused.value)
    six = placed(CYLINDER, 30, 20, 50, count=6, keep=keep)
    assert six.words == "evenly in each part that handle and spout leave free"


@given(
    st.integers(1, 10),
    st.floats(3.0, 60.0),
    st.floats(0.0, 60.0),
    st.lists(st.tuples(st.floats(0.0, 359.0), st.floats(0.0, 40.0)), max_size=3),
)
def test_marks_touch_nothing_that_stands_there_and_as_many_as_the_refusal_says_do_go(
    count: int, width: float, handle: float, others: list[tuple[float, float]]
) -> None:
    """Each distance round is taken anew from the angles, apart from how they were found."""
    keep = Keep(handle_mm=handle, others=tuple(Standing("knob", turn, half) for turn, half in others))
    try:
        found = placed(CYLINDER, width, 20, 50, count=count, keep=keep)
    except OutOfRange as refused:
        most = re.search(r"at most (\d+)", str(refused))
        if most:
            assert 0 < int(most[1]) < count
            placed(CYLINDER, width, 20, 50, count=int(most[1]), keep=keep)
        return
    angles = [place.angle_deg for place in found.places]
    assert len(angles) == count
    half = math.degrees(width / 2 / 45)
    bars = [(turn, each + math.degrees(3 / 45)) for turn, each in others]
    bars += [(0.0, math.degrees((handle / 2 + 3) / 45))] if handle else []
    for place, angle in enumerate(angles):
        assert all(apart(angle, turn) >= wide + half - 1e-6 for turn, wide in bars)
        assert all(apart(angle, other) >= 2 * half - 1e-6 for other in angles[:place])


def apart(one: float, other: float) -> float:
    return abs((one - other + 180) % 360 - 180)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: placed(CYLINDER, 20, 20, 10), "Move it"),
        (lambda: placed(CYLINDER, 20, 92, 47), "no higher than 89.0"),
        (lambda: placed(CYLINDER, 60, 20, 50, count=5), "at most 4"),
        (lambda: placed(CYLINDER, 60, 20, 50, count=4, keep=Keep(handle_mm=40)), "at most 3"),
        (lambda: placed(CYLINDER, 270, 20, 50, count=1, keep=Keep(handle_mm=40)), "narrower"),
        (lambda: placed(CYLINDER, 20, 20, 50, count=3, pitch_mm=30), "one of them"),
        (lambda: placed(CYLINDER, 20, 20, 50, count=0), "from 1 up"),
        (lambda: placed(CYLINDER, 20, 20, 50, pitch_mm=-1), "pitch"),
        (lambda: placed(CYLINDER, float("nan"), 20, 50), "width"),
        (lambda: placed(CYLINDER, 20, 20, 99), "on the wall"),
        (lambda: Keep(foot_mm=-1), "foot"),
    ],
)
def test_what_does_not_go_on_the_piece_is_refused_with_what_would(call, match: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutOfRange, match=match):
        call()
