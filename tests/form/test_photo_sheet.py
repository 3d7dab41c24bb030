"""A sheet of paper in a picture: its corners, the lens and the scale, against pictures and cameras whose truth is known."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from skimage.transform import ProjectiveTransform

from tests.form.photographs import Scene, _eye, photograph, scene_number, truth_mm
from tests.form.photographs_with_sheet import true_corners, with_sheet_number
from wareboard.errors import NotInTable
from wareboard.form.camera import judge_view
from wareboard.form.photo_outline import NoPiece
from wareboard.form.photo_sheet import SHEETS, homography, sheet_in
from wareboard.form.sightline import View
from wareboard.form.silhouette import profile_from_photo

Floats = NDArray[np.float64]
A4 = np.array([[0.0, 0.0], [297.0, 0.0], [297.0, 210.0], [0.0, 210.0]])


def with_sheet(seed: int) -> Scene:
    """One of the scenes drawn by lot, from a little farther off, an A4 sheet before it and partly under it."""
    scene = scene_number(seed)
    middle = (-20.0, -105.0 - 0.15 * scene.profile.widest_mm)
    return replace(scene, sheet=middle, elevation=max(scene.elevation, 18.0), distance=1.3 * scene.distance)


def test_the_homography_is_that_of_a_general_library() -> None:
    """Source: scikit-image, ProjectiveTransform."""
    corners = np.array([[102.0, 340.5], [520.0, 355.0], [470.0, 250.0], [160.0, 241.0]])
    theirs = ProjectiveTransform.from_estimate(corners, A4)
    places = np.random.default_rng(4).uniform(100, 400, (20, 2))
    found = np.column_stack([places, np.ones(20)]) @ homography(corners, A4).T
    assert found[:, :2] / found[:, 2:] == pytest.approx(theirs(places), rel=1e-6)


@pytest.mark.parametrize("seed", [3000, 3002, 3010])
def test_the_corners_the_lens_and_the_cameras_height_are_found(seed: int) -> None:
    """Source: the camera that walked the rays."""
    scene = with_sheet(seed)
    found = sheet_in(photograph(scene), "a4")
    away = np.linalg.norm(found.corners_px[:, None] - true_corners(scene), axis=2).min(axis=1)
    assert away.max() < 0.5
    assert found.focal_px == pytest.approx(scene.focal * max(scene.size), rel=0.02)
    assert found.camera_mm == pytest.approx(float(_eye(scene)[0][2]), rel=0.02)


@pytest.mark.parametrize("seed", [3002, 3010])
def test_a_sheet_gives_the_height_of_the_piece_and_its_profile_without_any_size(seed: int) -> None:
    scene = with_sheet(seed)
    found = profile_from_photo(photograph(scene), sheet="a4")
    assert found.heights_mm[-1] == pytest.approx(scene.profile.height_mm, rel=0.015)
    height = next(step for step in found.steps if step.key == "height")
    assert height.low is not None
    assert height.high is not None
    assert height.low < height.value < height.high
    away = np.abs(found.radii_mm - truth_mm(scene, found.heights_mm))
    assert float(np.percentile(away, 95)) <= 0.015 * scene.profile.widest_mm


def test_corners_that_are_given_are_taken_and_a_height_beside_a_sheet_makes_the_scale() -> None:
    scene = with_sheet(3002)
    picture, corners = photograph(scene), true_corners(scene)
    given = sheet_in(picture, "a4", corners[[2, 0, 3, 1]])
    assert given.focal_px == pytest.approx(scene.focal * max(scene.size), rel=0.01)
    found = profile_from_photo(picture, scene.profile.height_mm, sheet="a4")
    assert found.heights_mm[-1] == pytest.approx(scene.profile.height_mm)
    assert not any("lens is not known" in note for note in found.notes)


def test_a_sheet_of_another_kind_and_a_picture_without_one_are_refused_by_name() -> None:
    picture = photograph(scene_number(1))
    with pytest.raises(NotInTable, match="b5"):
        sheet_in(picture, "b5")
    with pytest.raises(NoPiece, match="sheet") as told:
        profile_from_photo(photograph(scene_number(44)), sheet="a4")
    assert "corners" in str(told.value)
    with pytest.raises(NoPiece, match="line"):
        sheet_in(picture, "a4", np.array([[0.0, 0.0], [10.0, 10.0], [20.0, 20.0], [30.0, 30.0]]))


def test_a_sheet_that_was_not_spoken_of_is_not_taken_for_a_part_of_the_piece() -> None:
    with pytest.raises(NoPiece, match="sheet of paper"):
        profile_from_photo(photograph(with_sheet(3010)), 110.0)


def test_the_sizes_of_the_sheets_are_those_of_the_trade() -> None:
    """Source: ISO 216 (A4, 210 by 297 mm); US letter is 8 1/2 by 11 inches of 25.4 mm."""
    assert SHEETS["a4"] == (297.0, 210.0)
    assert SHEETS["letter"] == pytest.approx((11 * 25.4, 8.5 * 25.4))


@pytest.mark.parametrize("seed", [500, 516, 536])
def test_a_sheet_before_behind_or_under_the_piece_is_found_and_says_which_way_is_up(seed: int) -> None:
    """Source: the camera that walked the rays, whose rows say where up lies in the picture."""
    drawn = with_sheet_number(seed)
    found = sheet_in(photograph(drawn.scene, fine=1), drawn.kind)
    away = np.linalg.norm(found.corners_px[:, None] - true_corners(drawn.scene), axis=2).min(axis=1)
    assert away.max() < 0.5
    right, up, ahead = _eye(drawn.scene)[1]
    assert found.up == pytest.approx([right[2], -up[2], ahead[2]], abs=0.006)
    assert found.ground is not None


@pytest.mark.parametrize("seed", [2077, 2119])
def test_a_sheet_two_of_whose_sides_run_behind_the_piece_is_found_whole_and_not_its_half(seed: int) -> None:
    """Source: the camera that walked the rays."""
    drawn = with_sheet_number(seed)
    found = sheet_in(photograph(drawn.scene, fine=1), drawn.kind)
    away = np.linalg.norm(found.corners_px[:, None] - true_corners(drawn.scene), axis=2).min(axis=1)
    assert away.max() < 0.5


def test_what_a_sheet_tells_of_the_view_is_fitted_with_rim_and_foot() -> None:
    """Rings drawn by a pinhole camera whose pitch is told, none told, and one told wrong. Source: that camera."""
    true = View(6.0, 2.6, math.atan2(2.1, 6.0), 900.0)
    turn = np.linspace(math.pi / 2, 0.0, 60)
    (rim_r, rim_v), (foot_r, foot_v) = (true.seen(0.4, 1.0, -turn), true.seen(0.3, 0.0, turn))
    side = np.linspace(0.0, 1.0, 80)[1:-1]
    r = np.concatenate([rim_r, rim_r[-1] + side * (foot_r[-1] - rim_r[-1]), foot_r[::-1]])
    v = np.concatenate([rim_v, rim_v[-1] + side * (foot_v[-1] - rim_v[-1]), foot_v[::-1]])
    told = [judge_view(r, v, 900.0, 0.02, 36.0, looks_down=way) for way in (None, (true.pitch, 0.004), (0.44, 0.004))]
    assert told[1].view.pitch == pytest.approx(true.pitch, abs=0.004)
    assert abs(told[1].view.height - true.height) <= abs(told[0].view.height - true.height) + 0.02
    assert true.pitch + 0.02 < told[2].view.pitch < 0.45


@pytest.mark.parametrize("seed", [2007, 2051, 2085])
def test_the_true_height_lies_in_the_stated_range_also_where_the_rims_lip_is_as_pale_as_its_ground(seed: int) -> None:
    """Source: the true section. In the first two scenes the outline runs along the inner edge of the lip, by 2 to 4 dots."""
    drawn = with_sheet_number(seed)
    read = profile_from_photo(photograph(drawn.scene, fine=1), sheet=drawn.kind)
    height = next(step for step in read.steps if step.key == "height")
    assert height.low is not None
    assert height.high is not None
    assert height.low < drawn.scene.profile.height_mm < height.high
    assert height.high - height.low < 0.08 * height.value


def test_a_bowl_whose_foot_ring_is_lost_in_its_shadow_is_not_sized_by_a_sheet() -> None:
    """The camera looks down by 28 degrees: the ring's near edge and the shadow under the belly are one in the picture."""
    drawn = with_sheet_number(2022)
    with pytest.raises(NoPiece, match="foot"):
        profile_from_photo(photograph(drawn.scene, fine=1), sheet=drawn.kind)


def test_a_white_piece_beside_a_sheet_is_not_taken_for_paper() -> None:
    """Source: the true section."""
    drawn = with_sheet_number(2063)
    read = profile_from_photo(photograph(drawn.scene, fine=1), sheet=drawn.kind)
    away = np.abs(read.radii_mm - truth_mm(drawn.scene, read.heights_mm))
    assert float(np.percentile(away, 95)) < min(read.uncertainty_mm, 0.015 * drawn.scene.profile.widest_mm)


def test_a_piece_on_a_sheet_is_read_nearer_than_the_stated_range_without_any_size() -> None:
    drawn = with_sheet_number(536)
    read = profile_from_photo(photograph(drawn.scene, fine=1), sheet=drawn.kind)
    away = np.abs(read.radii_mm - truth_mm(drawn.scene, read.heights_mm))
    assert float(np.percentile(away, 95)) < min(read.uncertainty_mm, 0.015 * drawn.scene.profile.widest_mm)


def test_corners_that_make_a_sheet_on_which_the_piece_would_not_stand_upright_are_refused() -> None:
    """The true corners, one of them moved by a tenth of the picture to where no paper's sides run."""
    drawn = with_sheet_number(500)
    corners = true_corners(drawn.scene)
    corners[0] += np.array([96.0, 40.0])
    with pytest.raises(NoPiece):
        profile_from_photo(photograph(drawn.scene, fine=1), sheet=drawn.kind, sheet_corners_px=corners)
