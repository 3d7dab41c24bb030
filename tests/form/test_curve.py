"""The smooth line against scipy's monotone cubic."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from wareboard.form.curve import monotone_cubic, smooth_through


@given(
    widths=st.lists(st.floats(0.1, 50.0), min_size=1, max_size=8),
    values=st.lists(st.floats(-100.0, 100.0), min_size=9, max_size=9),
)
def test_the_monotone_cubic_meets_scipys(widths: list[float], values: list[float]) -> None:
    """scipy.interpolate.PchipInterpolator, an independent library."""
    places = np.concatenate([[0.0], np.cumsum(widths)])
    heights = np.array(values[: len(places)])
    at = np.linspace(0.0, places[-1], 60)
    assert monotone_cubic(places, heights, at) == pytest.approx(PchipInterpolator(places, heights)(at), abs=1e-7)


def test_a_smooth_line_meets_its_points_and_overshoots_none() -> None:
    points = np.array([[0.0, 30.0], [40.0, 48.0], [95.0, 41.0]])
    line = smooth_through(points, 200)
    assert line[0] == pytest.approx(points[0])
    assert line[-1] == pytest.approx(points[-1])
    assert line[:, 1].max() <= 48.0 + 1e-9
    assert line[:, 1].max() == pytest.approx(48.0, abs=0.01)
    assert (np.diff(line[:, 0]) > 0).all()
