"""The section drawing: true to size, readable on dark and light, the same for the same piece."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from tests.form.test_profile import CUP, SIZES
from wareboard.errors import OutOfRange
from wareboard.form.draughting import sixteenths
from wareboard.form.handle import strap
from wareboard.form.profile import standard
from wareboard.form.section import section_svg
from wareboard.form.vessel import fill_height_mm

SVG = "{http://www.w3.org/2000/svg}"


def element(of: str, kind: str) -> ET.Element:
    found = next(each for each in ET.fromstring(of).iter(f"{SVG}path") if each.get("class") == kind)
    assert found is not None
    return found


def places(path: ET.Element) -> np.ndarray:
    return np.array(
        [[float(each) for each in pair] for pair in re.findall(r"(-?[\d.]+),(-?[\d.]+)", path.get("d") or "")]
    )


def test_one_millimetre_of_the_drawing_is_one_on_the_paper() -> None:
    root = ET.fromstring(section_svg(CUP))
    box = [float(each) for each in (root.get("viewBox") or "").split()]
    assert root.get("width") == f"{box[2]:g}mm"
    assert root.get("height") == f"{box[3]:g}mm"


@pytest.mark.parametrize("scale", [1.0, 0.5])
def test_the_cut_wall_and_the_outside_are_true_to_size(scale: float) -> None:
    drawing = section_svg(CUP, scale=scale)
    cut, outside = places(element(drawing, "cut")), places(element(drawing, "outside"))
    # Two decimals of a millimetre on the paper.
    assert np.ptp(cut[:, 0]) == pytest.approx(44 * scale, abs=0.011)
    assert np.ptp(cut[:, 1]) == pytest.approx(95 * scale, abs=0.011)
    assert np.ptp(outside[:, 0]) == pytest.approx(44 * scale, abs=0.011)
    assert cut[:, 0].max() == pytest.approx(outside[:, 0].min(), abs=0.011)


def test_area_of_the_cut_wall_is_that_of_the_profile() -> None:
    """Shoelace formula over the drawn outline: half the cup's section, 44 x 95 less 40 x 90 mm2."""
    x, y = places(element(section_svg(CUP), "cut")).T
    assert abs(np.dot(x, np.roll(y, 1)) - np.dot(y, np.roll(x, 1))) / 2 == pytest.approx(44 * 95 - 40 * 90, rel=1e-3)


@pytest.mark.parametrize("name", sorted(SIZES))
def test_everything_drawn_lies_on_the_sheet(name: str) -> None:
    drawing = section_svg(
        standard(name, *SIZES[name]), handle=strap(36.0, 30.0, 18.0, 7.0) if name == "belly" else None
    )
    root = ET.fromstring(drawing)
    wide, high = (float(each) for each in (root.get("viewBox") or "").split()[2:])
    for path in root.iter(f"{SVG}path"):
        at = places(path)
        assert at.min() >= 0
        assert at[:, 0].max() <= wide
        assert at[:, 1].max() <= high


def test_it_takes_the_pages_colour_and_no_other() -> None:
    drawing = section_svg(CUP, handle=strap(60.0, 30.0, 18.0, 7.0), fill_ml=300.0)
    colours = set(re.findall(r'(?:fill|stroke)="([^"]+)"', drawing))
    assert colours == {"currentColor", "none"}


def test_it_speaks_to_a_screen_reader() -> None:
    root = ET.fromstring(section_svg(CUP, title="Mug <small>", note="Fired sizes"))
    assert root.get("role") == "img"
    title, says = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert says is not None
    assert (root.get("aria-labelledby") or "").split() == [title.get("id"), says.get("id")]
    assert title.text == "Mug <small>"
    assert "Height 95 mm, rim 88 mm" in (says.text or "")
    assert "Fired sizes." in (says.text or "")


def test_the_same_piece_gives_the_same_bytes_and_another_piece_other_ids() -> None:
    assert section_svg(CUP) == section_svg(CUP)
    first, second = (re.findall(r'id="([^"]+)"', section_svg(CUP, title=each)) for each in ("a", "b"))
    assert not set(first) & set(second)
    assert 'id="mug-title"' in section_svg(CUP, name="mug")


def test_the_measures_asked_for_are_written() -> None:
    jug = standard("jug", 180.0, 90.0)
    words = [each.text for each in ET.fromstring(section_svg(jug)).iter(f"{SVG}text")]
    assert {"180", "90", "foot 85.5", "widest 121.5"} <= set(words)
    bare = [each.text for each in ET.fromstring(section_svg(jug, dims=False)).iter(f"{SVG}text")]
    assert "180" not in bare
    only = [each.text for each in ET.fromstring(section_svg(jug, dims=("rim",))).iter(f"{SVG}text")]
    assert "90" in only
    assert "180" not in only


def test_the_check_line_is_as_long_as_it_says() -> None:
    drawing = section_svg(standard("plate", 25.0, 270.0), scale=0.5)
    found = re.search(r'd="M([\d.]+),([\d.]+)L([\d.]+),\2" stroke-width="0.3"', drawing)
    assert found is not None
    long = float(found.group(3)) - float(found.group(1))
    assert f"{long:g} mm when printed true" in drawing
    assert "when printed true" not in section_svg(CUP, check_line=False)


def test_the_level_of_a_liquid_is_drawn_where_it_stands() -> None:
    drawing = section_svg(CUP, fill_ml=300.0, dims=False)
    level = re.search(r'M[\d.]+,([\d.]+)H[\d.]+" stroke-width="0.25" stroke-dasharray', drawing)
    assert level is not None
    foot = places(element(drawing, "cut"))[:, 1].max()
    assert foot - float(level.group(1)) == pytest.approx(fill_height_mm(CUP, 300.0), abs=0.02)


@pytest.mark.parametrize("name", ["cylinder", "belly", "jug"])
def test_the_handle_meets_the_wall_and_stands_out_by_gap_and_thickness(name: str) -> None:
    profile = standard(name, *SIZES[name])
    made = strap(60.0, 30.0, 18.0, 7.0, taper=1.0)
    drawing = section_svg(profile, handle=made)
    handle, outside = places(element(drawing, "handle")), places(element(drawing, "outside"))
    centre = outside[:, 0].min()
    heights = outside[:, 1].max() - handle[:, 1]
    walls = np.array([profile.radius_at_mm(float(np.clip(each, 0, profile.height_mm))) for each in heights])
    gaps = handle[:, 0] - centre - walls
    assert gaps.min() == pytest.approx(0.0, abs=0.02)
    assert (np.abs(gaps) < 0.02).sum() >= 8
    if name == "cylinder":
        assert gaps.max() == pytest.approx(37.0, abs=0.05)


def test_what_does_not_fit_is_refused() -> None:
    with pytest.raises(OutOfRange, match="scale"):
        section_svg(CUP, scale=0.0)
    with pytest.raises(OutOfRange, match="measure 'weight'"):
        section_svg(CUP, dims=("weight",))
    with pytest.raises(OutOfRange, match="handle runs from"):
        section_svg(CUP, handle=strap(120.0, 30.0, 18.0, 7.0))


@pytest.mark.parametrize(
    ("mm", "words"), [(25.4, "1"), (0.0, "0"), (95.25, "3 3/4"), (1.5875, "1/16"), (-1.6, "-1/16")]
)
def test_inches_are_written_to_the_sixteenth(mm: float, words: str) -> None:
    """An inch is 25.4 mm (its definition of 1959)."""
    assert sixteenths(mm) == words


def test_a_section_in_inches_is_the_same_drawing_with_other_words() -> None:
    """25.4 mm to the inch: 180 mm is 7 1/16 in, 90 mm is 3 9/16 in; not a line moves."""
    jug = standard("jug", 180.0, 90.0)
    inches, plain = section_svg(jug, unit="in", name="x"), section_svg(jug, name="x")
    words = [each.text for each in ET.fromstring(inches).iter(f"{SVG}text")]
    assert {"7 1/16", "3 9/16"} <= set(words)
    assert any("100 mm (3 15/16 in) when printed true" in (each or "") for each in words)
    assert "Height 7 1/16 in, rim 3 9/16 in" in inches
    lines = [re.findall(r' d="([^"]+)"', each) for each in (inches, plain)]
    assert lines[0] == lines[1]
