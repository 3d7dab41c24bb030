"""Where the points of a profile lie in the photograph that it was read from, and back."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from wareboard.form.curve import Floats
from wareboard.given import positive

if TYPE_CHECKING:
    from wareboard.form.silhouette import PhotoProfile

FAR_MM = 1e7


def places_of(found: PhotoProfile, dots: float = 1.0) -> Floats:
    """(3, 3) from (radius, height, 1), mm, the radius below 0 on the left, to (x, y, 1) in the picture, up to a factor.

    It maps the plane through the axis that faces the camera, so a point of the wall lies on the edge that is seen to about a
    part in two hundred of its radius. The foot's near edge and the rim's far edge are laid on the ends of the outline.

    Args:
        found: what was read off the photograph.
        dots: dots of the picture as shown to one dot of the picture as read.
    Raises:
        OutOfRange: if ``dots`` is not above 0.
    Source: pinhole projection of a plane (Hartley and Zisserman, Multiple View Geometry, 2004, chapter 2; from memory).
    """
    positive(dots, "share")
    tall = float(found.heights_mm[-1])
    pitch = math.radians(found.seen_from_deg)
    sine, cosine = math.sin(pitch), math.cos(pitch)
    away = FAR_MM if found.camera_mm is None else found.camera_mm / cosine
    # Sideways, upward and depth over the middle of the axis; depth 1 there.
    plane = np.array(
        [[1.0, 0.0, 0.0], [0.0, cosine, -cosine * tall / 2], [0.0, -sine / away, 1.0 + sine * tall / 2 / away]]
    )

    def rise(height: float, nearer: float) -> float:
        up = height - tall / 2
        return (up * cosine - nearer * sine) / (1.0 - (up * sine + nearer * cosine) / away)

    low = rise(0.0, math.copysign(float(found.radii_mm[0]), sine))
    high = rise(tall, -math.copysign(float(found.radii_mm[-1]), sine))
    middle = (found.left_px + found.right_px) / 2
    top, bottom = (middle[0] + 0.5) * dots, (middle[-1] + 0.5) * dots
    up = (top - bottom) / (high - low)
    right = np.array([-up[1], up[0]])
    start = bottom - low * up
    picture = np.array([[right[0], up[0], start[0]], [right[1], up[1], start[1]], [0.0, 0.0, 1.0]])
    laid: Floats = picture @ plane
    return laid


def laid(places: Floats, points_mm: Floats) -> Floats:
    """(n, 2) of (x, y) in the picture of points of (height, radius), mm, by what `places_of` gave."""
    seen = np.column_stack([points_mm[:, 1], points_mm[:, 0], np.ones(len(points_mm))]) @ places.T
    found: Floats = seen[:, :2] / seen[:, 2:]
    return found
