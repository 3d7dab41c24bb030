"""Life-size patterns against a ruler laid on the PDF, and against sizes worked out here from the definition of shrinkage.

A page's geometry is read from its content stream (ISO 32000-1), 1 point = 25.4/72 mm.
"""

from __future__ import annotations

import math
import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from tests.sheets.reading_pdf import Page, pages_of
from wareboard.commands import wareboard
from wareboard.errors import OutOfRange
from wareboard.form.gauges import Pattern, bars
from wareboard.plan.result import FormPlan, Plan
from wareboard.sheets.patterns import (
    OVERLAP_MM,
    Correction,
    area_mm,
    correction_from,
    pattern_pdf,
    patterns_of,
    set_out,
)

CLOSE_MM = 0.05


def printed(tmp_path: Path, plan: Plan, form: FormPlan, **more: object) -> list[Page]:
    file = tmp_path / "patterns.pdf"
    file.write_bytes(pattern_pdf(plan, form, **more))  # type: ignore[arg-type]
    return pages_of(file)


def check_lines(page: Page) -> tuple[list[float], list[float]]:
    """Lengths of the level and the upright lines that are between 90 and 110 mm long, outside the drawing's own."""
    level = [e for e in page.level_lines() if 90 < e.length < 110 and e.y1 < 60]
    upright = [e for e in page.lines if abs(e.x1 - e.x2) < 1e-6 and 90 < e.length < 110 and e.x1 < 12]
    return [e.length for e in level], [e.length for e in upright]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("plan", ["demo", "smallest", "awkward"])
def test_every_page_has_lines_that_measure_a_hundred_millimetres_both_ways(
    plan: str, paper: str, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    whole: Plan = request.getfixturevalue(plan)
    for form in whole.forms:
        for page in printed(tmp_path, whole, form, paper=paper):
            level, upright = check_lines(page)
            assert level == pytest.approx([100.0], abs=0.1), form.name
            assert upright == pytest.approx([100.0], abs=0.1), form.name
            assert "Measureme" in page.text.replace(" ", "")


def test_a_caliper_line_is_as_long_in_the_pdf_as_the_wet_size(demo: Plan, tmp_path: Path) -> None:
    """wet = fired / (1 - s) (definition); the line is found among those read from the file."""
    cup = demo.forms[0]
    lengths = [e.length for page in printed(tmp_path, demo, cup) for e in page.level_lines()]
    for fired in (80.0, 85.0, 50.0):
        wet = fired / (1 - cup.loss_width.fired)
        assert min(abs(each - wet) for each in lengths) < CLOSE_MM


def test_a_correction_lengthens_all_that_is_drawn_by_as_much(demo: Plan, tmp_path: Path) -> None:
    """A printer that makes 98.5 of 100 mm is given 100 / 0.985; what it prints is then 100 mm (proportion)."""
    drawn = correction_from(98.5, 99.2, printer="Office")
    cup = demo.forms[0]
    pages = printed(tmp_path, demo, cup, correction=drawn)
    for page in pages:
        level, upright = check_lines(page)
        assert [each * 0.985 for each in level] == pytest.approx([100.0], abs=0.1)
        assert [each * 0.992 for each in upright] == pytest.approx([100.0], abs=0.1)
        assert "Office" in page.text
    rim = 80.0 / (1 - cup.loss_width.fired)
    lengths = [e.length * 0.985 for page in pages for e in page.level_lines()]
    assert min(abs(each - rim) for each in lengths) < CLOSE_MM


@given(
    own=st.floats(0.951, 1.049),
    first=st.floats(0.98, 1.02),
)
def test_a_corrected_print_measured_again_gives_the_same_correction(own: float, first: float) -> None:
    """However a page was drawn, its line comes out 100 * drawn * own mm long, and the printer's own scale follows."""
    found = correction_from(100 * first * own, drawn=Correction(first, first))
    assert found.across == pytest.approx(1 / own, rel=1e-9)


@pytest.mark.parametrize("measured", [94.9, 105.3, 3.94, 0.0, math.nan, math.inf, -100.0])
def test_a_printer_out_by_more_than_five_in_a_hundred_is_not_believed(measured: float) -> None:
    with pytest.raises(OutOfRange, match="across"):
        correction_from(measured)
    with pytest.raises(OutOfRange, match="up"):
        correction_from(100.0, measured)


def named(form: FormPlan, name: str) -> Pattern:
    return next(each for each in patterns_of(form) if each.name.startswith(name))


def test_the_ribs_are_the_wet_profile(demo: Plan) -> None:
    """Each point of the edge, shrunk by height and width, lies on the fired profile (definition of linear shrinkage)."""
    for form in demo.forms:
        for name, fired in (
            ("Outer rib", form.profile.outer_mm[form.profile.standing :]),
            ("Inner rib", form.profile.inner_mm),
        ):
            edge = next(line for line in named(form, name).lines if line.kind == "edge").points_mm
            small = edge * np.array([1 - form.loss_width.fired, 1 - form.loss_height.fired])
            for radius, height in small[1:-1]:
                gaps = np.hypot(fired[:, 0] - height, fired[:, 1] - radius)
                assert gaps.min() < 1e-6


def test_foot_and_handle_are_leather_hard(demo: Plan) -> None:
    cup = demo.forms[0]
    ring = next(line for line in named(cup, "Foot").lines if line.kind == "edge").points_mm
    left = (1 - cup.loss_width.leather_hard) / (1 - cup.loss_width.fired)
    assert np.ptp(ring[:, 0]) == pytest.approx(50.0 * left, abs=1e-6)
    roots = [note.text for note in named(cup, "Handle").notes if "root" in note.text]
    up = (1 - cup.loss_height.leather_hard) / (1 - cup.loss_height.fired)
    # 56 mm handle midway up 78 mm: its middle line runs from 11 + 3.5 to 67 - 3.5 mm, thickness by the width's shrinkage
    heights = sorted(float(re.search(r"([\d.]+) mm up", each)[1]) for each in roots)  # type: ignore[index]
    assert heights == pytest.approx([14.5 * up, 63.5 * up], abs=0.15)


def test_the_strap_is_cut_to_the_length_of_its_middle_line(demo: Plan) -> None:
    """Half an ellipse of half axes 24.5 and 29.5 mm by numerical arc length, over 1 - s."""
    cup = demo.forms[0]
    turn = np.linspace(-np.pi / 2, np.pi / 2, 20001)
    fired = float(np.hypot(np.diff(24.5 * np.sin(turn)), np.diff(29.5 * np.cos(turn))).sum())
    cuts = [line.points_mm[0, 0] for line in named(cup, "Strap").lines if line.kind == "edge"]
    assert cuts[1] - cuts[0] == pytest.approx(fired / (1 - cup.loss_width.fired), abs=0.01)


def first_level_part(svg: str) -> tuple[float, float] | None:
    """Where the first thick level line of a page's drawing begins and ends."""
    found = re.findall(r'class="edge" d="M([\d.-]+),([\d.-]+) ([\d.-]+),([\d.-]+)"', svg)
    level = [(float(x1), float(x2)) for x1, y1, x2, y2 in found if abs(float(y1) - float(y2)) < 1e-6]
    return level[0] if level else None


@given(long=st.floats(240.0, 900.0), paper=st.sampled_from(["a4", "letter"]))
def test_a_long_line_keeps_its_length_when_its_pages_are_laid_cross_on_cross(long: float, paper: str) -> None:
    """Crosses lie half an overlap from both edges, so each page begins a page less an overlap after the last."""
    area = area_mm(paper, Correction())  # type: ignore[arg-type]
    pages = set_out([bars("Bar", "Lay it down", [("long", long), ("longer", long)])], area)
    assert len(pages) > 1
    assert all('class="join"' in page["svg"] for page in pages)
    found = [(n * (area[0] - OVERLAP_MM), first_level_part(page["svg"])) for n, page in enumerate(pages)]
    parts = [(at + part[0], at + part[1]) for at, part in found if part]
    assert max(end for _, end in parts) - min(start for start, _ in parts) == pytest.approx(long, abs=0.01)
    for before, after in pairwise(parts):
        assert after[0] < before[1]  # nothing is lost between two pages


def test_a_pattern_as_svg_is_in_millimetres_and_has_no_script(demo: Plan) -> None:
    for form in demo.forms:
        for pattern in patterns_of(form):
            text = pattern.svg()
            wide, box = re.search(r'width="([\d.]+)mm".*?viewBox="0 0 ([\d.]+) ', text).groups()  # type: ignore[union-attr]
            assert wide == box
            assert "<script" not in text


def test_the_command_writes_the_pages_and_each_pattern(tmp_path: Path) -> None:
    brief = tmp_path / "brief.toml"
    brief.write_text('due = 2099-02-12\n[[forms]]\ncount = 4\nheight = "90 mm"\n[clay]\nshrinkage = "12 %"\n', "utf-8")
    out, folder = tmp_path / "p.pdf", tmp_path / "svg"
    given = ["form", "gauges", str(brief), "--out", str(out), "--svg", str(folder), "--measured", "99 mm"]
    done = CliRunner().invoke(wareboard, given)
    assert done.exit_code == 0, done.output
    assert out.read_bytes().startswith(b"%PDF")
    assert any(file.name.startswith("piece-outer-rib") for file in folder.iterdir())


def test_an_inch_workshops_patterns_are_in_sixteenths_with_ticks(awkward: Plan) -> None:
    """25.4 mm to the inch; a tick each sixteenth of an inch along every bar, the same lengths as in mm."""
    form = awkward.forms[0]
    inches = next(each for each in patterns_of(form, "in") if each.name.startswith("Caliper"))
    in_mm = next(each for each in patterns_of(form) if each.name.startswith("Caliper"))
    edges, plain = ([line for line in each.lines if line.kind == "edge"] for each in (inches, in_mm))
    for one, other in zip(edges, plain, strict=True):
        assert np.array_equal(one.points_mm, other.points_mm)
    assert not [line for line in in_mm.lines if line.kind == "tick"]
    first = edges[0].points_mm
    level = first[0, 1]
    found = [line.points_mm[0, 0] for line in inches.lines if line.kind == "tick" and line.points_mm[1, 1] == level]
    assert found == pytest.approx([count * 25.4 / 16 for count in range(1, len(found) + 1)])
    assert len(found) == int(first[1, 0] / (25.4 / 16))
    assert all(note.text.endswith(" in") for note in inches.notes)
    for pattern in patterns_of(form, "in"):
        assert not [note.text for note in pattern.notes if " mm" in note.text], pattern.name


def test_the_check_line_of_an_inch_workshop_says_its_inches(awkward: Plan, tmp_path: Path) -> None:
    page = printed(tmp_path, awkward, awkward.forms[0])[0]
    assert "100mm(315/16in)" in page.text.replace(" ", "").replace("\N{NO-BREAK SPACE}", "")
