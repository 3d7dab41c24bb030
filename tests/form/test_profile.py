"""Profiles: what is refused, and that a drawn shape has the sizes that were asked for."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from wareboard.errors import NotInTable, OutOfRange
from wareboard.form.profile import Profile, from_points, shape, shapes, standard
from wareboard.form.vessel import capacity_ml, clay_volume_mm3

CUP = Profile(np.array([[0, 0], [0, 44], [95, 44]]), np.array([[5, 0], [5, 40], [95, 40]]))
SIZES = {
    "cylinder": (95.0, 88.0),
    "taper": (95.0, 88.0),
    "belly": (95.0, 88.0),
    "bowl": (70.0, 160.0),
    "plate": (25.0, 270.0),
    "jug": (180.0, 90.0),
    "lidded jar": (140.0, 120.0),
    "teapot": (110.0, 80.0),
    "lid": (40.0, 120.0),
}


def test_every_shape_kept_is_drawn_here() -> None:
    assert set(shapes()) == set(SIZES)


@pytest.mark.parametrize("name", [name for name in SIZES if name != "lid"])
def test_a_drawn_shape_measures_what_was_asked(name: str) -> None:
    height, rim = SIZES[name]
    drawn = standard(name, height, rim)
    usual = shape(name)
    assert drawn.height_mm == pytest.approx(height)
    assert drawn.rim_mm == pytest.approx(rim, abs=1e-6)
    assert drawn.foot_mm == pytest.approx(rim * usual.foot_share)
    assert drawn.floor_mm == pytest.approx(usual.floor_mm)
    assert drawn.outer_mm[0, 0] == usual.foot_ring_mm


def test_a_lid_rests_on_the_ledge_that_was_asked_for_and_its_flange_is_narrower() -> None:
    drawn = standard("lid", 40.0, 120.0)
    assert drawn.widest_mm == pytest.approx(120.0)
    assert drawn.rim_mm < 120.0 - 2 * 4.0
    assert drawn.height_mm == 40.0


@pytest.mark.parametrize("name", ["taper", "belly", "bowl", "plate", "jug", "lidded jar"])
def test_the_wall_is_as_thick_as_asked_square_to_the_surface(name: str) -> None:
    """Distance from points of the inside to the outside line by shapely, an independent library."""
    height, rim = SIZES[name]
    drawn = standard(name, height, rim, wall_mm=4.0, points=160)
    outside = shapely.LineString(drawn.outer_mm[drawn.standing :])
    # Away from the floor's corner and from the lip, both of which are other things than wall.
    at = np.linspace(drawn.inner_mm[0, 0] + 1.0, height - 8.0, 50)
    wall = np.column_stack([at, np.interp(at, *drawn.inner_mm[1:].T)])
    thick = shapely.distance(shapely.points(wall), outside)
    assert thick == pytest.approx(4.0, abs=0.03)


def test_a_wall_that_thins_to_the_rim_is_thinner_there() -> None:
    drawn = standard("taper", 95.0, 88.0, wall_mm=5.0, rim_wall_mm=3.0)
    assert drawn.wall_at_mm(10.0) > drawn.wall_at_mm(50.0) > drawn.wall_at_mm(90.0)
    assert drawn.wall_at_mm(48.0) == pytest.approx(4.0, abs=0.1)


def test_the_lip_is_half_round() -> None:
    drawn = standard("cylinder", 95.0, 88.0, wall_mm=4.0)
    lip = np.vstack([drawn.outer_mm, drawn.inner_mm])
    lip = lip[lip[:, 0] > 93.0 + 1e-9]
    assert np.hypot(lip[:, 0] - 93.0, lip[:, 1] - 42.0) == pytest.approx(2.0)
    assert drawn.lip_mm == pytest.approx(2.0)


def test_a_rim_cut_flat_gives_the_plain_cylinder() -> None:
    drawn = standard("cylinder", 95.0, 88.0, wall_mm=4.0, floor_mm=5.0, rounded_lip=False)
    assert drawn.outer_mm == pytest.approx(CUP.outer_mm)
    assert drawn.inner_mm == pytest.approx(CUP.inner_mm)


def test_a_foot_ring_lifts_the_floor_and_hollows_the_foot() -> None:
    drawn = standard("bowl", 70.0, 160.0, foot_ring_mm=6.0, floor_mm=6.0)
    assert drawn.inner_mm[0, 0] == pytest.approx(12.0)
    assert drawn.outer_mm[0, 0] == pytest.approx(6.0)
    assert drawn.depth_mm == pytest.approx(58.0)


def test_points_from_a_photograph_make_the_same_cup() -> None:
    drawn = from_points([[0, 44], [40, 44], [95, 44]], 4.0, 5.0, rounded_lip=False)
    assert capacity_ml(drawn) == pytest.approx(capacity_ml(CUP))
    assert clay_volume_mm3(drawn) == pytest.approx(clay_volume_mm3(CUP))


def test_points_of_a_drawn_belly_give_back_its_capacity() -> None:
    belly = standard("belly", 95.0, 88.0, rounded_lip=False)
    points = belly.outer_mm[belly.standing :][::4]
    again = from_points(points, 4.0, 5.0, rounded_lip=False)
    assert capacity_ml(again) == pytest.approx(capacity_ml(belly), rel=0.002)


def test_points_under_a_round_lip_keep_height_and_rim() -> None:
    drawn = from_points([[0, 36], [20, 52], [60, 75], [70, 80]], 5.0, 6.0, foot_ring_mm=6.0)
    assert drawn.height_mm == pytest.approx(70.0)
    assert drawn.rim_mm == pytest.approx(160.0, abs=1e-6)


@settings(max_examples=40)
@given(
    name=st.sampled_from([name for name in SIZES if name != "lid"]),
    tall=st.floats(0.8, 1.3),
    wide=st.floats(0.8, 1.3),
    up=st.floats(0.8, 1.3),
    across=st.floats(0.8, 1.3),
)
def test_volumes_go_with_height_times_width_squared(
    name: str, tall: float, wide: float, up: float, across: float
) -> None:
    height, rim = SIZES[name]
    drawn = standard(name, height * tall, rim * wide)
    larger = drawn.scaled(up, across)
    assert capacity_ml(larger) == pytest.approx(capacity_ml(drawn) * up * across**2)
    assert clay_volume_mm3(larger) == pytest.approx(clay_volume_mm3(drawn) * up * across**2)
    assert larger.rim_mm == pytest.approx(drawn.rim_mm * across)
    assert larger.height_mm == pytest.approx(drawn.height_mm * up)


def test_five_per_cent_larger_all_round_weighs_fifteen_point_eight_more() -> None:
    """1.05 cubed is 1.158 where the wall scales; kept walls make about 1.1025, the square (arithmetic)."""
    body = standard("belly", 95.0, 88.0, wall_mm=4.0, floor_mm=4.0)
    assert clay_volume_mm3(body.scaled(1.05, 1.05)) / clay_volume_mm3(body) == pytest.approx(1.158, abs=5e-4)
    kept = standard("belly", 95.0 * 1.05, 88.0 * 1.05, wall_mm=4.0, floor_mm=4.0)
    assert clay_volume_mm3(kept) / clay_volume_mm3(body) == pytest.approx(1.1025, abs=0.006)


def test_the_arrays_cannot_be_written_to_and_are_copies() -> None:
    points = np.array([[0.0, 0.0], [0.0, 44.0], [95.0, 44.0]])
    drawn = Profile(points, CUP.inner_mm)
    points[2, 1] = 1.0
    assert drawn.outer_mm[2, 1] == 44.0
    with pytest.raises(ValueError, match="read-only"):
        drawn.outer_mm[2, 1] = 1.0


@pytest.mark.parametrize(
    ("outer", "inner", "words"),
    [
        ([[0, 0], [0, -44], [95, 44]], CUP.inner_mm, "radius of -44"),
        ([[0, 0], [0, 44], [50, 44], [40, 44], [95, 44]], CUP.inner_mm, "outside runs downhill after 50"),
        (CUP.outer_mm, [[5, 0], [60, 40], [50, 40], [95, 40]], "inside runs downhill"),
        (CUP.outer_mm, [[5, 0], [5, 46], [95, 40]], "inside comes through the outside"),
        (CUP.outer_mm, [[5, 0], [5, 40], [90, 40]], "outside ends at 95 mm and inside at 90"),
        ([[3, 0], [3, 44], [95, 44]], CUP.inner_mm, "lowest point of the outside is at 3"),
        ([[6, 0], [6, 38], [0, 38], [0, 44], [95, 44]], CUP.inner_mm, "the floor has no clay"),
        ([[0, 0], [0, float("nan")], [95, 44]], CUP.inner_mm, "not finite"),
        ([0, 1, 2], CUP.inner_mm, "shape"),
    ],
)
def test_lines_that_are_no_pot_are_refused_by_what_is_wrong(outer: object, inner: object, words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        Profile(outer, inner)  # type: ignore[arg-type]


def test_sizes_that_do_not_go_together_are_refused() -> None:
    with pytest.raises(OutOfRange, match="meets itself"):
        standard("cylinder", 95.0, 20.0, wall_mm=10.0)
    with pytest.raises(OutOfRange, match="foot ring and floor"):
        standard("plate", 10.0, 270.0)
    with pytest.raises(NotInTable, match="lidded jar"):
        standard("tureen", 95.0, 88.0)
    with pytest.raises(OutOfRange, match="rim is -88"):
        standard("cylinder", 95.0, -88.0)
    with pytest.raises(OutOfRange, match="outside runs downhill"):
        from_points([[0, 30], [40, 35], [30, 40]], 4.0, 5.0)


def test_a_line_that_starts_off_the_centre_gets_a_flat_start_to_it() -> None:
    drawn = Profile(np.array([[0, 44], [95, 44]]), np.array([[5, 40], [95, 40]]))
    assert drawn.outer_mm == pytest.approx(CUP.outer_mm)
    assert drawn.inner_mm == pytest.approx(CUP.inner_mm)


@settings(max_examples=150, deadline=None)
@given(
    name=st.sampled_from(sorted(SIZES)),
    height=st.floats(8.0, 400.0),
    rim=st.floats(20.0, 400.0),
    wall=st.floats(1.0, 15.0),
    floor=st.floats(1.0, 15.0),
    foot=st.floats(0.2, 1.3),
    belly=st.floats(0.5, 1.8),
    ring=st.sampled_from([0.0, 3.0, 10.0]),
    rounded=st.booleans(),
)
def test_whatever_is_asked_for_comes_out_as_a_pot_or_is_refused_in_words(
    name: str,
    height: float,
    rim: float,
    wall: float,
    floor: float,
    foot: float,
    belly: float,
    ring: float,
    rounded: bool,
) -> None:
    try:
        drawn = standard(name, height, rim, foot * rim, belly * rim, wall, floor, ring, rounded_lip=rounded)
    except OutOfRange as refused:
        assert refused.mend
        return
    assert drawn.height_mm == pytest.approx(height)
    across = drawn.widest_mm if name == "lid" else drawn.rim_mm
    assert across == pytest.approx(rim, abs=1e-3)
    assert clay_volume_mm3(drawn) > 0
    assert capacity_ml(drawn) > 0


@pytest.mark.parametrize("shape", ["cylinder", "taper", "belly", "bowl", "jug", "lidded jar"])
@pytest.mark.parametrize("wall_mm", [3.5, 5.0])
def test_an_outline_with_its_lip_in_it_gives_the_piece_that_it_was_drawn_from(shape: str, wall_mm: float) -> None:
    """There and back: the outer line of a known piece, lip and all, as a photograph shows it; lips are read to 1 mm."""
    known = standard(shape, 100.0, 120.0 if shape == "bowl" else 80.0, wall_mm=wall_mm)
    outer = known.outer_mm[known.standing :]
    assert outer[-1, 1] < outer[:, 1].max() or outer[-1, 1] < outer[-6, 1]  # it does turn in over the lip
    heights = np.append(np.linspace(0.0, 96.0, 25), outer[outer[:, 0] > 97.0, 0])
    seen = np.column_stack([heights, np.interp(heights, outer[:, 0], outer[:, 1])])
    again = from_points(seen, wall_mm, known.floor_mm, known.inner_mm[0, 0] - known.floor_mm)
    assert again.height_mm == pytest.approx(100.0, abs=1e-6)
    assert again.rim_mm == pytest.approx(known.rim_mm, abs=1.0)
    assert capacity_ml(again) == pytest.approx(capacity_ml(known), rel=0.02)


@pytest.mark.parametrize("wall_mm", [3.0, 5.0, 8.0])
def test_a_bowl_read_off_a_photograph_takes_any_usual_wall(wall_mm: float) -> None:
    """Points that a rendered photograph of a bowl gave, turning in over the lip  # ours."""
    across = {
        0.0: 58.3,
        3.6: 61.8,
        5.7: 70.2,
        9.3: 81.3,
        15.5: 95.0,
        29.4: 113.1,
        56.2: 131.9,
        79.5: 140.1,
        81.5: 139.3,
    }
    seen = [(tall, wide / 2) for tall, wide in (across | {82.5: 137.2}).items()]
    made = from_points(seen, wall_mm, 6.0)
    assert made.height_mm == pytest.approx(82.5)
    assert made.widest_mm == pytest.approx(140.1, abs=0.5)
