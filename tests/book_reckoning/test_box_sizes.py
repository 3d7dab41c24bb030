"""Boxes of several sizes: every piece once, what was proved is below the exact least, closed cases are met.

Source of the exact least: scipy.optimize.milp (HiGHS) over which piece goes into which box, where only weight counts.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from wareboard.book.reckoning.box_sizes import Sized, pack_sizes
from wareboard.book.reckoning.boxes import Box, Parcel
from wareboard.errors import OutOfRange

SMALL = Sized("small", Box(200.0, 200.0, 200.0, 6000.0, 200.0), 1.10)
LARGE = Sized("large", Box(400.0, 300.0, 300.0, 15_000.0, 400.0), 2.30)
SIDE = st.floats(20.0, 290.0)
PARCEL = st.builds(Parcel, st.just("cup"), SIDE, SIDE, SIDE, st.floats(50.0, 5000.0))


def exact_least(masses: list[float], sizes: list[Sized]) -> float:
    """The least price by weight alone: places y[s, k] that may be opened, x[i, s, k] the piece in them."""
    count, kinds = len(masses), len(sizes)
    places = kinds * count
    cost = np.zeros(places * (1 + count))
    cost[:places] = np.repeat([each.price for each in sizes], count)
    rows, low, high = [], [], []
    for piece in range(count):
        row = np.zeros_like(cost)
        row[places + piece * places : places + (piece + 1) * places] = 1.0
        rows.append(row), low.append(1.0), high.append(1.0)
    for place in range(places):
        row = np.zeros_like(cost)
        box = sizes[place // count].box
        row[place] = -(box.most_g - box.own_g)
        row[places + place :: places] = masses
        rows.append(row), low.append(-np.inf), high.append(0.0)
    found = milp(cost, constraints=LinearConstraint(np.array(rows), low, high), integrality=1, bounds=Bounds(0, 1))
    return float(found.fun)


@settings(max_examples=60, deadline=None)
@given(st.lists(PARCEL, min_size=1, max_size=20))
def test_every_parcel_stands_in_one_box_within_its_walls_and_weight(parcels: list[Parcel]) -> None:
    packing = pack_sizes(parcels, [SMALL, LARGE])
    assert sorted(each.index for box in packing.boxes for each in box.filled.placed) == list(range(len(parcels)))
    for taken in packing.boxes:
        box = (SMALL, LARGE)[taken.size].box
        assert taken.filled.mass_g <= box.most_g + 1e-6
        for each in taken.filled.placed:
            assert each.x_mm + each.width_mm <= box.width_mm + 1e-6
            assert each.y_mm + each.depth_mm <= box.depth_mm + 1e-6
            assert each.z_mm + parcels[each.index].height_mm <= box.height_mm + 1e-6
    assert packing.price == pytest.approx(sum((1.10, 2.30)[each.size] for each in packing.boxes))
    assert packing.at_least <= packing.price + 1e-9


@pytest.mark.parametrize("seed", range(6))
def test_the_exact_least_lies_between_the_bound_and_what_was_packed(seed: int) -> None:
    random = np.random.default_rng(seed)
    masses = [float(each) for each in random.integers(400, 5000, 5)]
    packing = pack_sizes([Parcel("cup", 1.0, 1.0, 1.0, mass) for mass in masses], [SMALL, LARGE])
    exact = exact_least(masses, [SMALL, LARGE])
    assert packing.at_least <= exact + 1e-6
    assert exact <= packing.price + 1e-6
    assert packing.price <= 1.5 * exact


def test_cubes_that_fill_both_sizes_cost_what_arithmetic_says() -> None:
    """64 places in the large box for 2.30, 8 in the small for 1.10: 72 cubes cost 3.40, 70 the same, 9 cost 2.20."""
    large = Sized("large", Box(400.0, 400.0, 400.0, 1e6), 2.30)
    small = Sized("small", Box(200.0, 200.0, 200.0, 1e6), 1.10)
    for count, price in ((72, 3.40), (70, 3.40), (9, 2.20), (8, 1.10), (64, 2.30), (128, 4.60)):
        packing = pack_sizes([Parcel("cube", 100.0, 100.0, 100.0, 500.0)] * count, [small, large])
        assert packing.price == pytest.approx(price), count
        assert packing.is_least, count


def test_without_prices_the_fewest_boxes_are_sought() -> None:
    sizes = [Sized(each.name, each.box) for each in (SMALL, LARGE)]
    packing = pack_sizes([Parcel("cube", 100.0, 100.0, 100.0, 10.0)] * 36, sizes)
    assert (packing.price, packing.at_least, packing.priced) == (1.0, 1.0, False)


def test_a_piece_for_the_large_box_alone_is_counted_by_the_proof() -> None:
    """One jug 250 mm high needs the large box, whatever the room in it costs beside the small one's price."""
    packing = pack_sizes([Parcel("jug", 150.0, 150.0, 250.0, 900.0)], [SMALL, LARGE])
    assert (packing.at_least, packing.is_least) == (2.30, True)


def test_what_cannot_be_is_refused_by_name() -> None:
    with pytest.raises(OutOfRange, match="platter"):
        pack_sizes([Parcel("platter", 450.0, 450.0, 60.0, 2000.0)], [SMALL, LARGE])
    with pytest.raises(OutOfRange, match="some boxes alone"):
        pack_sizes([], [SMALL, Sized("free", LARGE.box)])
    with pytest.raises(OutOfRange, match="sizes of box"):
        pack_sizes([], [])
    assert pack_sizes([], [SMALL]).is_least
