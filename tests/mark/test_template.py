"""Templates and their pages: measured co-ordinates against closed forms, and nesting checked by shapely."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import numpy as np
import pytest
from shapely import Polygon, box

from tests.mark.test_wrap import CONE, CYLINDER, sphere
from wareboard.errors import OutOfRange
from wareboard.mark.drawing import Drawing, drawing_of
from wareboard.mark.page import PAPERS_MM, Page, pages
from wareboard.mark.placing import Keep, placed
from wareboard.mark.template import Template, on_piece, template

SQUARE = drawing_of([[(-10, -10), (10, -10), (10, 10), (-10, 10)]], closed=True)
FLAG = drawing_of([[(0, 0), (0, 24)], [(0, 24), (12, 18), (0, 12)]])


def sides(points: np.ndarray) -> np.ndarray:
    return np.ptp(points, axis=0)


def test_on_a_cylinder_the_template_is_the_drawing_and_the_paper_a_rectangle_up_to_the_rim() -> None:
    """Closed form: 20 mm square, 6 mm of paper round it, top edge 95 - 50 = 45 mm above its middle."""
    made = template(SQUARE, CYLINDER, 50.0)
    assert sides(made.lines[0].points_mm) == pytest.approx([20, 20])
    assert sides(made.edge_mm) == pytest.approx([32, 61])
    assert made.top_mm[:, 1].max() - made.lines[0].points_mm[:, 1].mean() == pytest.approx(45)
    assert sides(made.centre_mm) == pytest.approx([0, 61])
    assert "nothing is stretched" in made.distortion.words
    assert made.top_words == "at the rim"
    wall = made.wall_lines[0]
    assert np.hypot(wall[:, 0], wall[:, 1]) == pytest.approx(np.full(len(wall), 45.0))
    assert [wall[:, 2].min(), wall[:, 2].max()] == pytest.approx([40, 60])


def test_on_a_cone_the_top_edge_is_an_arc_of_the_slant_height() -> None:
    """Closed form: the rim's arc lies on a circle about the apex with radius rim / sine of the lean = 54 / (24 / 83.52)."""
    made = template(SQUARE, CONE, 40.0)
    slant = np.hypot(80, 24)
    apex = np.array([0.0, made.top_mm[32, 1] - 54 * slant / 24])
    assert np.hypot(*(made.top_mm - apex).T) == pytest.approx(np.full(65, 54 * slant / 24), rel=1e-9)
    assert sides(made.lines[0].points_mm) == pytest.approx([20, 20])


def test_level_lines_follow_the_piece_round_and_plain_ones_stay_straight() -> None:
    bar = drawing_of([[(-20, 0), (20, 0)]])
    level, plain = (template(bar, CONE, 40.0, lay=way) for way in ("level", "plain"))
    assert np.ptp(level.wall_lines[0][:, 2]) < 1e-9
    assert np.ptp(plain.lines[0].points_mm[:, 1]) < 1e-9
    assert np.ptp(plain.wall_lines[0][:, 2]) > 0.5
    # A level arc of 40 mm at radius 42 stays 40 mm long on paper.
    assert level.lines[0].length_mm == pytest.approx(40.0, rel=1e-4)


def test_on_a_double_curved_wall_the_mark_has_its_size_at_its_middle_and_the_rest_is_told() -> None:
    """Reference: distances on the ball by great circles (radius 60), against those of the drawing."""
    made = template(SQUARE, sphere(), 60.0)
    square = made.wall_lines[0] - [0, 0, 60 * np.sin(1.2)]
    assert np.linalg.norm(square, axis=1) == pytest.approx(np.full(len(square), 60.0), abs=1e-2)
    # Where the square's two upright sides cross the height of its middle.
    heights = np.abs(square[:, 2] - np.mean([square[:, 2].min(), square[:, 2].max()]))
    left, right = (square[np.where(side, heights, np.inf).argmin()] for side in (square[:, 1] < 0, square[:, 1] > 0))
    width = 60 * np.arccos(left @ right / 3600)
    assert width == pytest.approx(20.0, rel=made.distortion.length_worst + 1e-3)
    assert 0.001 < made.distortion.length_worst < 0.05


def test_a_mirrored_template_is_the_same_one_turned_over() -> None:
    made, over = template(FLAG, CONE, 40.0), template(FLAG, CONE, 40.0, mirrored=True)
    assert over.mirrored
    assert over.lines[1].points_mm == pytest.approx(made.lines[1].points_mm * [-1, 1])
    assert over.mirror().edge_mm == pytest.approx(made.edge_mm)
    assert over.wall_lines[0] == pytest.approx(made.wall_lines[0])


def test_the_top_edge_may_lie_below_the_rim() -> None:
    made = template(SQUARE, CYLINDER, 50.0, top_mm=70.0)
    assert sides(made.edge_mm) == pytest.approx([32, 36])
    assert made.top_words == "25.0 mm below rim"


def test_on_the_piece_every_mark_stands_at_its_place() -> None:
    made = template(FLAG, CYLINDER, 50.0)
    found = on_piece(made, placed(CYLINDER, 12, 24, 50, count=4, keep=Keep(handle_mm=20)))
    assert len(found) == 8
    middle = np.degrees(np.arctan2(found[0][:, 1], found[0][:, 0])).mean()
    # The flag's pole stands 6 mm left of the mark's middle, which is less round the piece seen from above.
    assert middle == pytest.approx(45 - np.degrees(6 / 45), abs=0.01)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: template(SQUARE, CYLINDER, 5.0), "move it"),
        (lambda: template(SQUARE, CYLINDER, 50.0, top_mm=55.0), "top edge"),
        (lambda: template(SQUARE.scaled(15), CYLINDER, 50.0), "up the wall"),
        (lambda: template(SQUARE.scaled(15, 1), CYLINDER, 50.0), "round there"),
        (lambda: template(SQUARE, CYLINDER, 50.0, lay="flat"), "plain or level"),
        (lambda: template(SQUARE, CYLINDER, 50.0, margin_mm=0), "margin"),
        (lambda: Drawing(()), "no lines"),
        (lambda: SQUARE.sized(), "one of them"),
        (lambda: drawing_of([[(0, 0), (4, 0)]]).sized(height_mm=5), "other size"),
        (lambda: SQUARE.sized(width_mm=-5), "width of the mark"),
    ],
)
def test_what_cannot_be_made_is_refused_with_the_mend(call, match: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutOfRange, match=match):
        call()


def cut_edges(page: Page) -> list[Polygon]:
    return [Polygon(shape.points_mm) for shape in page.shapes if shape.name == "cut"]


def apart(page: Page, least_mm: float) -> bool:
    edges = cut_edges(page)
    inside = box(10, 19, page.width_mm - 10, page.height_mm - 25)
    near = all(a.distance(b) >= least_mm for i, a in enumerate(edges) for b in edges[:i])
    return near and all(inside.covers(edge) for edge in edges)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_copies_are_nested_without_touching_each_other_the_words_or_the_check_line(paper: str) -> None:
    (page,) = pages([template(FLAG, CONE, 40.0), template(SQUARE, CYLINDER, 50.0)], [6, 3], paper)
    assert page.templates == 9
    assert (page.width_mm, page.height_mm) == PAPERS_MM[paper]
    assert apart(page, 2.0)


@pytest.mark.parametrize(
    ("size", "wall"), [((3, 0.8), [(0.0, 20.0), (60.0, 52.0)]), ((0.8, 1.5), CYLINDER), ((1.2, 1.2), CONE)]
)
def test_templates_nest_no_less_close_than_the_rectangles_round_them(
    size: tuple[float, float], wall: list[tuple[float, float]]
) -> None:
    """Reference: as many rectangles as go in rows, all one way round, on the same area with the same gap."""
    made = template(SQUARE.scaled(*size), wall, 0.6 * wall[-1][0])
    (page,) = pages([made], fill=True)
    # The raster costs up to a millimetre a template, so the rectangles get it too.
    wide, high = made.width_mm + 2 + 1, made.height_mm + 2 + 1
    rows = max(int(190 / a) * int(253 / b) for a, b in ((wide, high), (high, wide)))
    assert page.templates >= rows
    assert apart(page, 2.0)


def test_every_template_on_a_page_is_life_size_whichever_way_it_is_turned() -> None:
    made = template(FLAG, CONE, 40.0)
    (page,) = pages([made], 6)
    areas = [edge.area for edge in cut_edges(page)]
    assert areas == pytest.approx([Polygon(made.edge_mm).area] * 6, rel=1e-12)
    # Turned, never turned over: all run round the one way, which a page's y, running down, reads as the other.
    assert {edge.exterior.is_ccw for edge in cut_edges(page)} == {not Polygon(made.edge_mm).exterior.is_ccw}


def test_the_check_line_is_100_mm_in_the_svg_and_the_page_its_paper() -> None:
    (page,) = pages([template(SQUARE, CYLINDER, 50.0)], 2)
    drawing = page.svg()
    root = ET.fromstring(drawing)
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("210mm", "297mm", "0 0 210 297")
    paths = [
        np.array([[float(n) for n in pair.split(",")] for pair in (path.get("d") or "").strip("MZ").split()])
        for path in root.iter("{http://www.w3.org/2000/svg}path")
        if path.get("class") == "check"
    ]
    assert max(np.ptp(path[:, 0]) for path in paths) == pytest.approx(100.0, abs=1e-3)
    assert "100 mm when printed true" in drawing
    assert "dust" in drawing
    marks = [path for path in root.iter("{http://www.w3.org/2000/svg}path") if path.get("class") == "mark"]
    measured = np.array([[float(n) for n in pair.split(",")] for pair in (marks[0].get("d") or "").strip("MZ").split()])
    assert sides(measured) == pytest.approx([20, 20], abs=2e-3)


def test_the_same_templates_give_the_same_pages() -> None:
    first, second = ("".join(page.svg() for page in pages([made()], 9)) for made in (flag, flag))
    assert first == second


def flag() -> Template:
    return template(FLAG, CONE, 40.0, mirrored=True)


def test_more_copies_than_one_page_holds_go_on_the_next_and_spares_fill_the_last() -> None:
    made = flag()
    plain, full = pages([made], 45), pages([made], 45, fill=True)
    assert sum(page.templates for page in plain) == 45
    assert len(plain) == len(full) > 1
    assert full[-1].templates > plain[-1].templates
    assert any("face down" in word.text for word in plain[0].words)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: pages([template(SQUARE, CYLINDER, 50.0)], 0), "from 1 up"),
        (lambda: pages([], 1), "from 1 up"),
        (lambda: pages([template(SQUARE, CYLINDER, 50.0)], paper="a9"), "a4, letter"),
        (lambda: pages([template(drawing_of([[(-105, 0), (105, 0)]]), CYLINDER, 50.0)], paper="letter"), ""),
        (lambda: pages([template(SQUARE.scaled(8, 10), [(0.0, 90.0), (300.0, 90.0)], 150)]), "larger than"),
    ],
)
def test_pages_that_cannot_be_are_refused_in_words(call, match: str) -> None:  # type: ignore[no-untyped-def]
    if not match:
        assert call()[0].templates == 1  # too wide for the page upright, so it was turned
        return
    with pytest.raises(OutOfRange, match=match):
        call()
