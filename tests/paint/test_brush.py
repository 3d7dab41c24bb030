"""Where a brush fits, against drawn shapes of known width and against scikit-image's opening by a disc."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt, label
from skimage.morphology import disk, erosion, opening

from wareboard.paint.brush import made_paintable, room_px, too_thin


def stripe(width: int, high: int = 60, wide: int = 80) -> np.ndarray:
    labels = np.zeros((high, wide), dtype=np.int32)
    labels[:, 30 : 30 + width] = 1
    return labels


@pytest.mark.parametrize("width", [4, 5, 6, 7, 12])
def test_a_stripe_as_wide_as_the_brush_is_wide_enough_and_a_pixel_less_is_not(width: int) -> None:
    """By definition, at odd and even widths alike."""
    labels = stripe(width)
    assert not too_thin(labels, float(width))[10:50].any()
    assert too_thin(labels, width + 1.0)[labels == 1].all()


def test_room_at_the_middle_of_a_stripe_is_half_its_width() -> None:
    for width in (5, 8):
        assert room_px(stripe(width))[60, 60 : 60 + 2 * width + 1].max() == pytest.approx(width / 2)


def test_a_disc_and_a_square_of_the_brushs_width_stand_and_a_sliver_does_not() -> None:
    labels = np.zeros((80, 120), dtype=np.int32)
    y, x = np.mgrid[0:80, 0:120]
    labels[(x - 25) ** 2 + (y - 40) ** 2 <= 6.6**2] = 1
    labels[34:46, 50:62] = 2
    labels[np.abs(y - 40) < 3.0 * (110 - x) / 40 * (x > 70)] = 3
    thin = too_thin(labels, 12.0)
    assert not thin[(labels == 1) | (labels == 2)].any()
    assert thin[labels == 3].all()


def blobs(seed: int, zones: int = 4) -> np.ndarray:
    from scipy.ndimage import gaussian_filter

    rng = np.random.default_rng(seed)
    fields = [gaussian_filter(rng.normal(size=(90, 120)), 5) for _ in range(zones)]
    return np.argmax(fields, axis=0).astype(np.int32)


@pytest.mark.parametrize("seed", range(4))
def test_a_second_opinion_on_maps_of_all_kinds(seed: int) -> None:
    """scikit-image's opening by discs a pixel larger and smaller in radius holds the answer between them."""
    labels = blobs(seed)
    thin = too_thin(labels, 9.0)
    for zone in range(4):
        mine = np.pad(labels == zone, 12)
        surely = opening(mine, disk(5))[12:-12, 12:-12]
        assert not (thin & surely).any()
        at_most = distance_transform_edt(~erosion(mine, disk(3)))[12:-12, 12:-12] <= 2 * 4.5 + 1.5
        assert at_most[(labels == zone) & ~thin].all()


@pytest.mark.parametrize("seed", range(6))
def test_what_is_made_paintable_has_room_for_the_brush_in_every_part(seed: int) -> None:
    """By scipy's distance transform, part by part, outside the map counted as no zone."""
    labels = blobs(seed)
    before = labels.copy()
    done = made_paintable(labels, np.zeros((4, *labels.shape)) + 1.0, 8.0)
    assert (labels == before).all(), "what was given is left alone"
    assert too_thin(done, 8.0).mean() < 2e-3
    for zone in np.unique(done):
        parts, count = label(np.pad(done == zone, 1))
        for part in range(1, count + 1):
            assert distance_transform_edt(parts == part).max() >= 4.0


def test_a_map_too_small_for_the_brush_comes_out_as_one_zone() -> None:
    labels = np.zeros((6, 6), dtype=np.int32)
    labels[:2] = 1
    assert (made_paintable(labels, np.ones((2, 6, 6)), 9.0) == 0).all()


def test_a_brush_of_a_pixel_fits_everywhere() -> None:
    assert not too_thin(blobs(1), 1.0).any()
