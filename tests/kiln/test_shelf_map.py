"""Drawings of shelves and loads: read back as XML and measured against the layout they were drawn from."""

from __future__ import annotations

import math
from xml.etree import ElementTree

import pytest

from wareboard.kiln.load import HalfRoundShelf, KilnInside, LoadPiece, OctagonalShelf, RoundShelf, plan_loads
from wareboard.kiln.shelf_map import every_count, letters, load_side_svg, shelf_key, shelf_svg

SVG = "{http://www.w3.org/2000/svg}"
PIECES = [
    LoadPiece("cup & saucer", 9, 92.0, 88.0, handle_reach_mm=32.0, handle_width_mm=20.0),
    LoadPiece("bowl", 14, 150.0, 70.0, nests=True),
]
KILN = KilnInside(RoundShelf(530.0, 19.0), 680.0)
PLAN = plan_loads(PIECES, KILN, "bisque")
LAYOUTS = [layout for load in PLAN.loads for layout in load]


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: " ".join(layout.counts))
def test_every_piece_is_drawn_at_its_place_and_size(layout) -> None:  # type: ignore[no-untyped-def]
    drawn = ElementTree.fromstring(shelf_svg(layout))
    circles = {(c.get("cx"), c.get("cy"), c.get("r")) for c in drawn.iter(f"{SVG}circle")}
    for (x, y), wide in zip(layout.centres_mm, layout.diameters_mm, strict=True):
        assert any(
            math.isclose(float(cx or 0), x, abs_tol=0.006)
            and math.isclose(float(cy or 0), -y, abs_tol=0.006)
            and math.isclose(float(r or 0), wide / 2.0, abs_tol=0.006)
            for cx, cy, r in circles
        )


def test_paper_size_over_true_size_is_the_scale_asked_for() -> None:
    drawn = ElementTree.fromstring(shelf_svg(LAYOUTS[0], scale=0.2))
    box = [float(part) for part in (drawn.get("viewBox") or "").split()]
    assert float((drawn.get("width") or "").removesuffix("mm")) == pytest.approx(0.2 * box[2], abs=0.01)
    assert float((drawn.get("height") or "").removesuffix("mm")) == pytest.approx(0.2 * box[3], abs=0.01)


def test_the_drawing_is_told_in_words_and_drawn_without_colour() -> None:
    svg = shelf_svg(LAYOUTS[0])
    drawn = ElementTree.fromstring(svg)
    title, desc = drawn.find(f"{SVG}title"), drawn.find(f"{SVG}desc")
    assert title is not None
    assert desc is not None
    assert drawn.get("role") == "img"
    assert drawn.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"
    for form, count in LAYOUTS[0].counts.items():
        assert f"{count} {form}" in (desc.text or "")
    paints = {node.get(kind) for node in drawn.iter() for kind in ("fill", "stroke")}
    assert paints <= {None, "none", "currentColor", "url(#shelf-hatch)"}


def test_each_form_has_its_own_line_and_letter() -> None:
    svg = load_side_svg(PLAN.loads[0], KILN, forms=[piece.form for piece in PIECES])
    assert "A  cup &amp; saucer" in svg
    assert "B  bowl" in svg
    assert letters([str(k) for k in range(28)])["27"] == "AB"


def test_posts_are_drawn_on_every_shelf_but_the_top() -> None:
    for layout in LAYOUTS:
        hatched = shelf_svg(layout).count('fill="url(#shelf-hatch)"')
        assert hatched == len(layout.posts) + 1  # one more in the list of signs


def test_the_side_view_has_each_shelf_at_its_height() -> None:
    for load in PLAN.loads:
        drawn = ElementTree.fromstring(load_side_svg(load, KILN))
        tops = {float(rect.get("y") or 0) for rect in drawn.iter(f"{SVG}rect") if rect.get("height") == "19"}
        assert tops == {-layout.level_mm for layout in load}
        assert sum(every_count(load, piece.form) for piece in PIECES) == sum(layout.pieces for layout in load)


@pytest.mark.parametrize("shelf", [HalfRoundShelf(530.0, 19.0), OctagonalShelf(530.0, 19.0)])
def test_other_shelves_are_drawn_too_and_always_alike(shelf: HalfRoundShelf | OctagonalShelf) -> None:
    kiln = KilnInside(shelf, 680.0)
    once, twice = (shelf_svg(plan_loads(PIECES, kiln).loads[0][0]) for _ in range(2))
    assert once == twice
    ElementTree.fromstring(once)


def test_without_its_legend_a_drawing_has_the_letters_of_its_pieces_alone_and_the_key_says_them() -> None:
    """For a narrow screen: no words in the drawing are smaller than the letters on the pieces."""
    for layout in LAYOUTS:
        bare = ElementTree.fromstring(shelf_svg(layout, legend=False))
        words = [(each.text or "", float(each.get("font-size") or 0)) for each in bare.iter(f"{SVG}text")]
        assert len(words) == len(layout.forms)
        assert min(size for _, size in words) >= 16.0
        key = shelf_key(layout)
        for form, count in layout.counts.items():
            assert any(f"{form} × {count}" in line for line in key)
        box = [float(part) for part in (bare.get("viewBox") or "").split()]
        assert box[2] >= 530.0
        assert box[3] >= 530.0
    side = ElementTree.fromstring(load_side_svg(PLAN.loads[0], KILN, legend=False))
    assert all(len(each.text or "") <= 2 for each in side.iter(f"{SVG}text"))
