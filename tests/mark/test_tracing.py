"""Pictures traced: against the lines that were drawn, and against scikit-image's iso-lines as they come."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial import cKDTree
from shapely import LineString, Point, Polygon, box, contains_xy
from skimage.measure import find_contours

from tests.mark.pictures import MM, grid, known_lines, photographed, strokes
from wareboard.errors import OutOfRange
from wareboard.mark.drawing import Drawing, fineness
from wareboard.mark.tracing import trace


def close_points(lines: list[np.ndarray]) -> np.ndarray:
    return np.vstack([np.array(LineString(line).segmentize(0.1).coords) for line in lines])


@pytest.mark.parametrize("width", [0.6, 1.0, 1.6])
def test_strokes_become_single_lines_that_lie_on_what_was_drawn(width: float) -> None:
    """Truth: the drawn lines. Both ways (none invented, none lost) 95 % within 1.5 pixels, or an eighth of a stroke."""
    truth = known_lines()
    found = trace(photographed(strokes(truth, width)), MM)
    points, wanted = close_points([line.loop_mm for line in found.drawing.lines]), close_points(truth)
    there, back = cKDTree(wanted).query(points)[0], cKDTree(points).query(wanted)[0]
    near = max(0.15, width / 8)
    assert np.quantile(there, 0.95) < near
    assert np.quantile(back, 0.95) < near
    assert there.max() < width / 2 + 0.1
    assert sorted((line.closed, round(line.length_mm)) for line in found.drawing.lines) == [
        (False, pytest.approx(26, abs=1)),
        (False, pytest.approx(LineString(truth[2]).length, abs=1)),
        (True, pytest.approx(18 * np.pi, abs=1)),
    ]
    assert found.stroke_mm == pytest.approx(width, abs=0.15)


def test_lines_are_smooth_and_simple() -> None:
    """A straight bar of 26 mm is few points and nowhere more than a pixel off; a skeleton alone has 260."""
    found = trace(photographed(strokes([np.array([[10.0, 5.0], [28.0, 33.0]])], 1.0)), MM)
    (line,) = found.drawing.lines
    assert len(line.points_mm) <= 6
    off = np.abs((line.points_mm - [10, 5]) @ np.array([28, -18]) / np.hypot(28, 18))
    assert off.max() < MM


def areas() -> np.ndarray:
    """Ink of a disc with a hole, and a bar beside it."""
    x, y = grid()
    disc = np.hypot(x - 15, y - 22)
    inside = np.minimum(10 - disc, disc - 4)
    bar = np.minimum(np.minimum(x - 29, 35 - x), np.minimum(y - 6, 34 - y))
    return np.clip(np.maximum(inside, bar) / MM + 0.5, 0, 1)


def overlap(area) -> float:  # type: ignore[no-untyped-def]
    """Intersection over union with the true shapes, in closed form."""
    truth = Point(15, 22).buffer(10, 128).difference(Point(15, 22).buffer(4, 128)).union(box(29, 6, 35, 34))
    return truth.intersection(area).area / truth.union(area).area


def test_outlines_overlap_the_truth_and_no_less_than_plain_iso_lines() -> None:
    """Reference: skimage.measure.find_contours at half brightness on the same picture, even-odd filled."""
    picture = photographed(areas())
    found = overlap(trace(picture, MM, kind="outlines").drawing.inked(1.0))
    rings = [ring for ring in find_contours(picture, 0.5) if len(ring) > 3]
    plain = Polygon()
    for ring in rings:
        places = np.column_stack([ring[:, 1] + 0.5, picture.shape[0] - ring[:, 0] - 0.5]) * MM
        plain = plain.symmetric_difference(Polygon(places).buffer(0))
    assert found > 0.985
    assert found > overlap(plain)
    clean = photographed(areas(), noise=0.0, shade=0.0, specks=0)
    assert overlap(trace(clean, MM, kind="outlines").drawing.inked(1.0)) > 0.99


def test_light_lines_on_a_dark_ground_and_any_range_of_brightness() -> None:
    truth = known_lines()
    ink = photographed(strokes(truth, 1.0))
    dark = trace(255 * (1 - ink), MM, light_on_dark=True).drawing
    plain = trace(ink, MM).drawing
    assert dark.length_mm == pytest.approx(plain.length_mm, rel=0.02)


def test_specks_go_and_so_do_holes_in_strokes() -> None:
    ink = strokes([np.array([[5.0, 20.0], [35.0, 20.0]])], 2.0)
    ink[200:202, 150:152] = 0.0
    found = trace(photographed(ink, specks=60), MM)
    assert len(found.drawing.lines) == 1


def test_a_large_picture_is_reduced_and_keeps_its_size() -> None:
    ink = strokes([np.array([[5.0, 20.0], [35.0, 20.0]])], 1.0)
    large = photographed(np.kron(ink, np.ones((7, 7))))
    found = trace(large, MM / 7)
    assert found.drawing.width_mm == pytest.approx(30.0, abs=1.0)
    assert found.drawing.bounds_mm[1] == pytest.approx(20.0, abs=0.1)


def test_ink_cut_off_by_the_picture_is_told() -> None:
    found = trace(photographed(strokes([np.array([[-5.0, 20.0], [35.0, 20.0]])], 1.0)), MM)
    assert "edge of the picture" in found.drawing.notes[0]
    assert trace(photographed(strokes(known_lines(), 1.0)), MM).drawing.notes == ()


def blank(noise: float) -> np.ndarray:
    return photographed(np.zeros((200, 200)), noise, 0.5, 0)


@pytest.mark.parametrize(
    ("picture", "match"),
    [
        (blank(0.0), "no lines"),
        (blank(0.05), "no lines"),
        (np.ones((50, 50)), "same all over"),
        (np.random.default_rng(0).uniform(size=(200, 200)), "no lines"),
        (np.random.default_rng(0).uniform(size=(2, 200)), "at least 8"),
        (np.full((50, 50), np.nan), "finite"),
        (np.zeros((50, 50, 3)), "grey"),
    ],
)
def test_a_picture_without_lines_is_refused_in_clear_words(picture: np.ndarray, match: str) -> None:
    with pytest.raises(OutOfRange, match=match):
        trace(picture)


def test_dots_alone_are_no_lines_but_may_be_outlines() -> None:
    x, y = grid()
    dots = np.clip((1.5 - np.hypot((x % 10) - 5, (y % 10) - 5)) / MM + 0.5, 0, 1)
    assert len(trace(photographed(dots), MM, kind="outlines").drawing.lines) == 16


def test_raised_or_incised_is_kept_and_other_words_are_refused() -> None:
    picture = photographed(strokes(known_lines(), 1.0))
    assert trace(picture, MM, cut="raised").drawing.cut == "raised"
    with pytest.raises(OutOfRange, match="incised or raised"):
        trace(picture, MM, cut="stamped")
    with pytest.raises(OutOfRange, match="lines or outlines"):
        trace(picture, MM, kind="dots")


def outlines(*rings: list[tuple[float, float]]) -> Drawing:
    from wareboard.mark.drawing import drawing_of

    return drawing_of(list(rings), closed=True, kind="outlines")


def test_a_bar_narrower_than_the_tool_is_flagged_where_it_is() -> None:
    """By construction: a 10 mm bar of 0.6 mm joined to a 10 mm square, against a tool of 1 mm."""
    shape = outlines([(0, 0), (10, 0), (10, 4.7), (20, 4.7), (20, 5.3), (10, 5.3), (10, 10), (0, 10)])
    found = fineness(shape, 1.0, 1.0)
    assert len(found.narrow) == 1
    assert 10 < found.narrow[0][0] < 20
    assert "narrower" in found.words
    assert fineness(shape, 0.5, 0.5).narrow == ()


def test_lines_too_close_for_the_clay_between_them_are_flagged() -> None:
    """By construction: grooves of 1 mm with middles 1.5 mm apart leave 0.5 mm of clay; 2.5 mm apart leave 1.5 mm."""
    from wareboard.mark.drawing import drawing_of

    close = drawing_of([[(0, 0), (20, 0)], [(0, 1.5), (20, 1.5)], [(0, 4.0), (20, 4.0)]])
    found = fineness(close, 1.0, 1.0)
    assert len(found.crowded) == 1
    assert found.crowded[0][1] == pytest.approx(0.75, abs=0.3)
    assert "crumble" in found.words
    assert fineness(drawing_of([[(0, 0), (20, 0)]]), 1.0, 1.0).words == "Every line can be carved at this size."


def test_holes_in_outlines_are_holes() -> None:
    """Arithmetic: a square of 10 mm less one of 4 mm is 84 mm2."""
    area = outlines([(0, 0), (10, 0), (10, 10), (0, 10)], [(3, 3), (7, 3), (7, 7), (3, 7)]).inked(1.0)
    assert area.area == pytest.approx(84.0)
    assert not contains_xy(area, 5, 5)
