"""Fillers in the gaps of a load: nothing touches, nothing moves, and a gap that surely holds one is filled."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wareboard.errors import OutOfRange
from wareboard.kiln.fillers import Filler, fill_gaps, room_over_mm
from wareboard.kiln.footprint import footprint, least_room_mm
from wareboard.kiln.load import KilnInside, LoadPiece, RoundShelf, plan_loads

INSIDE = KilnInside(RoundShelf(500.0), 650.0)
GAP_MM = 6.0


@settings(max_examples=20, deadline=None)
@given(across=st.floats(25.0, 140.0), cups=st.integers(1, 40))
def test_every_distance_is_kept_and_no_place_is_moved(across: float, cups: int) -> None:
    """Geometry: bodies, handles and fillers as discs are nowhere nearer than the gap, nor over the edge or the shelf."""
    cup = LoadPiece("cup", cups, 85.0, 90.0, handle_reach_mm=30.0, handle_width_mm=18.0)
    load = plan_loads([cup], INSIDE, "glaze", gap_mm=GAP_MM).loads[0]
    before = [layout.centres_mm.copy() for layout in load]
    found = fill_gaps(load, INSIDE, GAP_MM, [Filler("tile", across, 80.0, 5), Filler("ring", 30.0, 20.0, 9)])
    for at, layout in enumerate(load):
        assert (layout.centres_mm == before[at]).all()
        here = [each for each in found if each.shelf == at]
        shapes = [footprint(85.0, 30.0, 18.0)] * len(layout.centres_mm)
        shapes += [footprint(each.filler.across_mm, 0.0, 0.0) for each in here]
        angles = np.radians(layout.handle_angles_deg)
        places = [(*centre, angle) for centre, angle in zip(layout.centres_mm, angles, strict=True)]
        places += [(each.x_mm, each.y_mm, 0.0) for each in here]
        assert least_room_mm(shapes, np.array(places)) >= GAP_MM - 0.01
        for each in here:
            reach = np.hypot(each.x_mm, each.y_mm) + each.filler.across_mm / 2.0
            assert reach <= 250.0 - INSIDE.edge_mm + 0.01
            assert each.filler.height_mm + INSIDE.top_gap_mm <= room_over_mm(layout, INSIDE) + 1e-6
            for post in (*layout.posts, *layout.cone_packs, *layout.thermocouple):
                apart = np.hypot(each.x_mm - post.x_mm, each.y_mm - post.y_mm)
                assert apart >= post.radius_mm + post.gap_mm + each.filler.across_mm / 2.0 - 0.01


def test_no_more_than_there_are_and_the_widest_first() -> None:
    load = plan_loads([LoadPiece("cup", 3, 85.0, 90.0)], INSIDE, "glaze", gap_mm=GAP_MM).loads[0]
    found = fill_gaps(load, INSIDE, GAP_MM, [Filler("ring", 30.0, 20.0, 4), Filler("bowl", 120.0, 60.0, 2)])
    assert [each.filler.name for each in found] == ["bowl"] * 2 + ["ring"] * 4


def test_a_gap_with_two_grid_steps_to_spare_is_always_found() -> None:
    """Closed form: on a round shelf with one piece in its middle the ring left free is wider than tile and gaps by 20 mm."""
    bare = KilnInside(RoundShelf(500.0), 300.0, cone_pack=None, thermocouple=None)
    load = plan_loads([LoadPiece("bowl", 1, 200.0, 100.0)], bare, "glaze", gap_mm=GAP_MM).loads[0]
    at = np.hypot(*load[0].centres_mm[0])
    widest = 250.0 - bare.edge_mm + at - 100.0 - GAP_MM  # on the side away from it
    assert fill_gaps(load, bare, GAP_MM, [Filler("tile", widest - 20.0, 50.0, 1)])


def test_one_too_tall_for_every_shelf_and_sizes_that_are_none_are_left_out_and_refused() -> None:
    load = plan_loads([LoadPiece("cup", 3, 85.0, 90.0)], INSIDE, "glaze", gap_mm=GAP_MM).loads[0]
    assert fill_gaps(load, INSIDE, GAP_MM, [Filler("tower", 40.0, 700.0, 3)]) == ()
    with pytest.raises(OutOfRange, match="width of tile"):
        Filler("tile", -1.0, 40.0, 3)
