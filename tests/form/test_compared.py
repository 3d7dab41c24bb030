"""Two sections over one another: areas by shapely against the half section's own (shoelace, closed form)."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree

import pytest
from shapely import Polygon

from wareboard.form.compared import compared_svg
from wareboard.form.profile import Profile, standard


def drawn(svg: str) -> dict[str, Polygon]:
    found = {}
    for path in ElementTree.fromstring(svg):
        if path.get("class"):
            figures = [float(each) for each in re.findall(r"-?[\d.]+", path.get("d", ""))]
            found[path.get("class", "")] = Polygon(list(zip(figures[::2], figures[1::2], strict=True)))
    return found


def half_area_mm2(profile: Profile) -> float:
    return float(Polygon([*profile.outer_mm, *profile.inner_mm[::-1]]).area)


def test_both_sections_are_drawn_to_one_scale_on_one_axis_and_one_board() -> None:
    new, old = standard("belly", 95, 85), standard("bowl", 70, 140)
    found = drawn(compared_svg(new, old, "Cup"))
    for name, profile in (("compared-new", new), ("compared-old", old)):
        shape = found[name]
        assert shape.is_valid
        assert shape.area == pytest.approx(2 * half_area_mm2(profile), rel=2e-3)
        left, top, right, bottom = shape.bounds
        assert right - left == pytest.approx(profile.widest_mm, abs=0.05)
        assert bottom - top == pytest.approx(profile.height_mm, abs=0.05)
    boxes = [each.bounds for each in found.values()]
    assert boxes[0][3] == pytest.approx(boxes[1][3], abs=0.02)
    assert boxes[0][0] + boxes[0][2] == pytest.approx(boxes[1][0] + boxes[1][2], abs=0.05)


def test_its_words_are_escaped_and_the_new_one_may_stand_alone() -> None:
    svg = compared_svg(standard("belly", 95, 85), None, 'a "cup" <script>')
    assert ElementTree.fromstring(svg).get("aria-label") == 'a "cup" <script>'
    assert set(drawn(svg)) == {"compared-new"}
