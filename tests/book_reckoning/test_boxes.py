"""Packing into boxes: nothing overlaps, nothing is left, and the bound is one.

Sources: exact fewest boxes by scipy.optimize.milp (HiGHS) where only weight counts; first fit by falling size needs at most
11/9 of the fewest and 6/9 (G. Dosa, 2007; from memory).
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wareboard.book.reckoning.boxes import Box, Parcel, fewest, pack, wrapped
from wareboard.errors import OutOfRange

BOX = Box(400.0, 300.0, 300.0, 15_000.0, 400.0)
SIDE = st.floats(20.0, 300.0)
PARCEL = st.builds(Parcel, st.just("cup"), SIDE, SIDE, SIDE, st.floats(50.0, 5000.0))


@settings(max_examples=60, deadline=None)
@given(st.lists(PARCEL, min_size=1, max_size=25))
def test_every_parcel_stands_in_one_box_and_none_in_another(parcels: list[Parcel]) -> None:
    packing = pack(parcels, BOX)
    assert sorted(each.index for box in packing.boxes for each in box.placed) == list(range(len(parcels)))
    for box in packing.boxes:
        assert box.mass_g == pytest.approx(BOX.own_g + sum(parcels[each.index].mass_g for each in box.placed))
        assert box.mass_g <= BOX.most_g + 1e-6
        spans = []
        for each in box.placed:
            parcel = parcels[each.index]
            assert sorted((each.width_mm, each.depth_mm)) == sorted((parcel.width_mm, parcel.depth_mm))
            sides = ((each.x_mm, each.width_mm), (each.y_mm, each.depth_mm), (each.z_mm, parcel.height_mm))
            for (start, long), room in zip(sides, (BOX.width_mm, BOX.depth_mm, BOX.height_mm), strict=True):
                assert -1e-6 <= start <= start + long <= room + 1e-6
            spans.append([(start, start + long) for start, long in sides])
        for one, other in itertools.combinations(spans, 2):
            assert any(a[1] <= b[0] + 1e-6 or b[1] <= a[0] + 1e-6 for a, b in zip(one, other, strict=True))
    assert packing.at_least <= len(packing.boxes)


def exact_by_weight(masses: list[float], limit: float) -> int:
    """The fewest boxes when only weight counts: assignment with one switch for each box, solved to the end."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    count = len(masses)
    size = count * count + count
    rows = np.zeros((2 * count, size))
    for item in range(count):
        rows[item, item * count : (item + 1) * count] = 1.0
    for box in range(count):
        rows[count + box, box : count * count : count] = masses
        rows[count + box, count * count + box] = -limit
    low = np.concatenate([np.ones(count), np.full(count, -np.inf)])
    high = np.concatenate([np.ones(count), np.zeros(count)])
    cost = np.concatenate([np.zeros(count * count), np.ones(count)])
    found = milp(cost, constraints=LinearConstraint(rows, low, high), integrality=np.ones(size), bounds=Bounds(0, 1))
    return round(found.fun)


@pytest.mark.parametrize("seed", range(8))
def test_where_only_weight_counts_bound_and_packing_hold_the_exact_answer_between_them(seed: int) -> None:
    masses = [float(each) for each in np.random.default_rng(seed).integers(1500, 9000, size=9)]
    best = exact_by_weight(masses, BOX.most_g - BOX.own_g)
    parcels = [Parcel("tile", 10.0, 10.0, 10.0, mass) for mass in masses]
    packing = pack(parcels, BOX)
    assert packing.at_least <= best <= len(packing.boxes)
    assert len(packing.boxes) <= 11 / 9 * best + 6 / 9


def test_cups_that_fill_boxes_to_the_brim_are_proved_to_need_no_fewer() -> None:
    """3 x 2 x 2 cubes of 100 mm fill a box of 300 x 200 x 200 mm: 24 need two, by their volume."""
    packing = pack([Parcel("cup", 100.0, 100.0, 100.0, 1.0)] * 24, Box(300.0, 200.0, 200.0, 1e6))
    assert (len(packing.boxes), packing.at_least, packing.by) == (2, 2, "volume")
    assert packing.is_fewest


def test_handled_cups_are_proved_to_need_a_box_for_every_four() -> None:
    """Wrapped 184 x 144 x 154 mm in 400 x 300 x 300 mm: floor(400/144) floor(300/144) floor(300/154) = 2 x 2 x 1 places."""
    packing = pack([wrapped("cup", 84.0, 94.0, 310.0, 30.0, 60.0, 40.0)] * 120, BOX)
    assert (len(packing.boxes), packing.at_least, packing.by) == (30, 30, "the places in a box")


def test_jugs_with_handles_are_turned_so_that_two_stand_in_a_box() -> None:
    """By hand: 127 + 50 mm with 30 mm of wrapping is 237 by 187; on 400 by 300 two stand turned, one as given."""
    jugs = [wrapped("jug", 127.0, 178.0, 735.0, 30.0, 60.0, 50.0)] * 9
    assert [len(box.placed) for box in pack(jugs, BOX).boxes] == [2, 2, 2, 2, 1]
    assert pack(jugs, BOX).is_fewest


def test_large_jugs_stand_alone() -> None:
    jugs = [Parcel("jug", 210.0, 210.0, 160.0, 900.0)] * 5
    packing = pack(jugs, BOX)
    assert (len(packing.boxes), packing.by) == (5, "the places in a box")


def test_a_wrapped_piece_is_larger_on_every_side() -> None:
    parcel = wrapped("cup", 84.0, 94.0, 310.0, 30.0, 60.0)
    assert (parcel.width_mm, parcel.depth_mm, parcel.height_mm, parcel.mass_g) == (144.0, 144.0, 154.0, 370.0)
    handled = wrapped("cup", 84.0, 94.0, 310.0, 30.0, 60.0, handle_mm=40.0)
    assert (handled.width_mm, handled.depth_mm) == (184.0, 144.0)


def test_what_cannot_be_is_refused_by_name() -> None:
    with pytest.raises(OutOfRange, match=r"platter.*larger than the box"):
        pack([Parcel("platter", 450.0, 450.0, 60.0, 2000.0)], BOX)
    with pytest.raises(OutOfRange, match=r"crock.*heavier than the limit"):
        pack([Parcel("crock", 200.0, 200.0, 200.0, 16_000.0)], BOX)
    for wrong in (float("nan"), 0.0, -3.0):
        with pytest.raises(OutOfRange, match="width of cup"):
            wrapped("cup", wrong, 94.0, 310.0, 30.0, 60.0)
        with pytest.raises(OutOfRange, match="inside the box"):
            pack([], Box(wrong, 300.0, 300.0, 1000.0))
    with pytest.raises(OutOfRange, match="at most 2000"):
        pack([Parcel("cup", 10.0, 10.0, 10.0, 1.0)] * 2001, BOX)


def test_nothing_to_pack_needs_no_box() -> None:
    assert fewest([], BOX)[0] == 0
    assert pack([], BOX).boxes == ()
