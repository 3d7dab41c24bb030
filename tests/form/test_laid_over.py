"""Points of a profile laid over its photograph, against a pinhole camera of the pictures' own.

Source: the scenes are drawn ray by ray from a known eye (see `tests.form.photographs`); a place on the plane through the
axis is projected here by that eye's own place and frame, which the code that reads pictures never sees.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.form.photographs import Floats, Scene, _eye, photograph, scene_number
from wareboard.errors import OutOfRange
from wareboard.form.laid_over import laid, places_of
from wareboard.form.silhouette import profile_from_photo

SHARES = np.linspace(0.05, 0.95, 10)


def projected(scene: Scene, points_mm: Floats) -> Floats:
    """(n, 2) places, in dots counted from the picture's corner, of (height, signed radius)."""
    place, frame = _eye(scene)
    there = np.column_stack([points_mm[:, 1], np.zeros(len(points_mm)), points_mm[:, 0]]) - place
    seen = there @ frame.T
    focal = scene.focal * max(scene.size)
    middle = np.array(scene.size) / 2
    return np.asarray(middle + np.column_stack([seen[:, 0], -seen[:, 1]]) / seen[:, 2:] * focal)


@pytest.mark.parametrize("seed", [1, 3, 9, 10])
def test_points_lie_where_the_eye_sees_them_to_a_hundredth_of_the_height(seed: int) -> None:
    scene = scene_number(seed)
    found = profile_from_photo(photograph(scene, fine=1), scene.profile.height_mm, lens_35mm=scene.focal * 36.0)
    heights = SHARES * scene.profile.height_mm
    radii = np.array([scene.profile.radius_at_mm(float(each)) for each in heights])
    for side in (-1.0, 1.0):
        points = np.column_stack([heights, side * radii])
        off = np.hypot(*(laid(places_of(found), points) - projected(scene, points)).T)
        tall = float(np.ptp(projected(scene, np.array([[0.0, 0.0], [scene.profile.height_mm, 0.0]]))[:, 1]))
        assert off.max() < 0.015 * tall


def test_a_smaller_showing_of_the_picture_lays_them_in_step() -> None:
    scene = scene_number(5)
    found = profile_from_photo(photograph(scene, fine=1), scene.profile.height_mm)
    points = found.points_mm[::20]
    np.testing.assert_allclose(laid(places_of(found, 0.25), points), laid(places_of(found), points) / 4, atol=1e-6)
    with pytest.raises(OutOfRange):
        places_of(found, 0.0)
