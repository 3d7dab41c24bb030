"""The gauge sheets against a ruler: positions are read out of the PDF and compared with the definition of shrinkage.

Outside reference: total linear shrinkage on the wet length, wet = fired / (1 - s), worked out here by itself; a page's
geometry is read from its content stream (ISO 32000-1), 1 point = 25.4/72 mm.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont

from tests.sheets.reading_pdf import MM, Line, Page, pages_of
from wareboard.plan.result import FormPlan, Plan
from wareboard.quantities import INCH_MM
from wareboard.sheets import gauge
from wareboard.sheets.dossier import names_of_forms
from wareboard.sheets.print_scale import Correction, correction_from
from wareboard.sheets.typesetting import FONTS

CLOSE_MM = 0.05  # a third of the width of a printed hair line


def gauge_pages(folder: Path, plan: Plan, form: FormPlan) -> list[Page]:
    return pages_of(folder / f"gauge-{names_of_forms(plan)[form.name]}.pdf")


def lines_as_long_as(page: Page, long_mm: float) -> list[Line]:
    return [each for each in page.level_lines() if each.length == pytest.approx(long_mm, abs=1e-3)]


def base_of(page: Page) -> float:
    """Where the strips stand: the lowest level line as wide as a strip."""
    return min(each.y1 for each in lines_as_long_as(page, gauge.STRIP_MM))


@pytest.mark.parametrize("folder", ["demo_folder", "smallest_folder", "awkward_folder"])
def test_every_gauge_page_has_a_line_that_measures_a_hundred_millimetres(
    folder: str, request: pytest.FixtureRequest
) -> None:
    sheets = sorted(request.getfixturevalue(folder).glob("gauge-*.pdf"))
    assert sheets
    for sheet in sheets:
        for page in pages_of(sheet):
            lines = [each for each in page.level_lines() if abs(each.length - 100.0) <= 0.1]
            assert len(lines) == 1, sheet.name
            (line,) = lines
            ends = [e for e in page.lines if abs(e.x1 - e.x2) < 1e-6 and e.length == pytest.approx(6.0, abs=0.01)]
            half_a_stroke = 0.25 * MM
            places = sorted(each.x1 - line.x1 for each in ends)
            assert places == pytest.approx([half_a_stroke, 100.0 - half_a_stroke], abs=0.01)
            assert "100mm" in page.text.replace(" ", "")


@pytest.mark.parametrize(("plan", "folder"), [("demo", "demo_folder"), ("smallest", "smallest_folder")])
def test_each_strip_is_marked_at_the_wet_size(plan: str, folder: str, request: pytest.FixtureRequest) -> None:
    whole: Plan = request.getfixturevalue(plan)
    for form in whole.forms:
        (page,) = gauge_pages(request.getfixturevalue(folder), whole, form)
        base = base_of(page)
        marked = sorted(each.y1 - base for each in lines_as_long_as(page, gauge.STRIP_MM + 4.0))
        fired = {"height": form.profile.height_mm, "rim": form.profile.rim_mm, "foot": form.profile.foot_mm}
        if "belly" in form.lengths:
            fired["belly"] = form.profile.widest_mm
        gone = {name: form.loss_height.fired if name == "height" else form.loss_width.fired for name in fired}
        wanted = sorted(mm / (1.0 - gone[name]) for name, mm in fired.items())
        assert marked == pytest.approx(wanted, abs=CLOSE_MM)


def test_the_band_on_a_strip_is_the_agreed_difference_at_wet_size(demo: Plan, demo_folder: Path) -> None:
    cup = demo.forms[0]
    (page,) = gauge_pages(demo_folder, demo, cup)
    base = base_of(page)
    first_strip = min(each.x1 for each in lines_as_long_as(page, gauge.STRIP_MM))
    strip = [each for each in lines_as_long_as(page, gauge.STRIP_MM) if abs(each.x1 - first_strip) < 1e-3]
    levels = sorted({round(each.y1 - base, 3) for each in strip})
    # base, the two dashes of the band (78 mm fired, 3 mm either way), the top of the strip
    assert len(levels) == 4
    assert levels[1:3] == pytest.approx(
        [75.0 / (1 - cup.loss_height.fired), 81.0 / (1 - cup.loss_height.fired)], abs=0.05
    )


def ticks(page: Page, weight: float, left: bool) -> list[float]:
    """Heights of the rule's long ticks, on its left or its right edge; they are drawn from the edge inwards."""
    found = [each for each in page.level_lines() if each.length == pytest.approx(weight, abs=1e-3)]
    return sorted(each.y1 for each in found if (each.x2 > each.x1) == left)


def test_the_shrink_rule_reads_fired_millimetres_on_wet_clay(demo: Plan, demo_folder: Path) -> None:
    for form in demo.forms:
        (page,) = gauge_pages(demo_folder, demo, form)
        for left, gone in ((True, form.loss_height.fired), (False, form.loss_width.fired)):
            tens = ticks(page, 6.0, left)
            longest = 10 * (len(tens) - 1)
            assert longest >= max(form.profile.height_mm, form.profile.widest_mm) - 1e-6
            wanted = [fired / (1.0 - gone) for fired in range(0, longest + 1, 10)]
            assert [y - tens[0] for y in tens] == pytest.approx(wanted, abs=CLOSE_MM)
            ones = ticks(page, 2.4, left)
            assert ones[0] - tens[0] == pytest.approx(1.0 / (1.0 - gone), abs=CLOSE_MM)
        assert tens[0] == pytest.approx(base_of(page), abs=CLOSE_MM)
        label = next(each for each in page.words if each.text == "100")
        hundred = tens[10] if label.x > page.size_mm[0] / 2 else ticks(page, 6.0, True)[10]
        assert label.y == pytest.approx(hundred, abs=2.5)


def test_the_inch_rule_has_sixteenths(awkward: Plan) -> None:
    form = awkward.forms[0]
    found = gauge.shrink_ticks(form.loss_height.fired, 100.0, "in")
    inches = [each for each in found if each.weight == 2]
    assert [each.label for each in inches] == ["0", "1", "2", "3", "4"]
    assert inches[3].at_mm == pytest.approx(3 * INCH_MM / (1 - 0.13), abs=1e-9)
    assert found[1].at_mm == pytest.approx(INCH_MM / 16 / (1 - 0.13), abs=1e-9)
    assert [each.weight for each in found[:17]] == [2, 3, 0, 3, 1, 3, 0, 3, 1, 3, 0, 3, 1, 3, 0, 3, 2]


def test_strips_and_rule_are_drawn_for_the_printer_as_patterns_are(demo: Plan, tmp_path: Path) -> None:
    """A printer that makes 98.5 of 100 mm across and 99.2 up is given as much more; what it prints is true (proportion)."""
    cup = demo.forms[0]
    drawn = correction_from(98.5, 99.2, printer="Office")
    file = tmp_path / "gauge.pdf"
    file.write_bytes(gauge.gauge_pdf(demo, cup, "a4", drawn))
    (page,) = pages_of(file)  # what is told of the printer goes on the same page
    checks = [each.length for each in page.level_lines() if abs(each.length * 0.985 - 100.0) <= 0.1]
    assert len(checks) == 1
    base = min(each.y1 for each in lines_as_long_as(page, gauge.STRIP_MM / 0.985))
    marks = [each.y1 for each in lines_as_long_as(page, (gauge.STRIP_MM + 4) / 0.985)]
    wet = [strip.mark.at_mm for strip in gauge.strips_of(cup, "mm")]
    assert sorted((y - base) * 0.992 for y in marks) == pytest.approx(sorted(wet), abs=CLOSE_MM)
    tens = ticks(page, 6.0 / 0.985, True)
    gone = cup.loss_height.fired
    assert [(y - tens[0]) * 0.992 for y in tens[:5]] == pytest.approx(
        [fired / (1 - gone) for fired in (0, 10, 20, 30, 40)], abs=CLOSE_MM
    )
    assert "Office" in page.text


def test_a_page_drawn_larger_holds_less_so_that_nothing_runs_off_it(demo: Plan) -> None:
    for factors in ((1.04, 1.04), (0.97, 0.97), (1.0, 1.0)):
        sheet = gauge.gauge_sheet(demo, demo.forms[0], "a4", Correction(*factors))
        assert sheet["area"] * sheet["up"] <= 297 - gauge.TAKEN_UP_MM + 1e-9
        assert sheet["width"] * sheet["across"] <= 210 - gauge.MARGINS_MM + 1e-9
        for page in sheet["pages"]:
            ends = [strip["x"] + gauge.STRIP_MM for strip in page["strips"]]
            ends += [page["rule"]["x"] + gauge.RULE_MM] if page["rule"]["show"] else []
            assert max(ends) <= sheet["width"] + 1e-9


def test_an_inch_workshop_measures_the_check_line_in_inches_too(awkward_folder: Path, awkward: Plan) -> None:
    """100 mm is 3.937 in, 3 15/16 in to the sixteenth (25.4 mm to the inch)."""
    page = gauge_pages(awkward_folder, awkward, awkward.forms[0])[0]
    assert "100mm(315/16in)" in page.text.replace(" ", "").replace("\N{NO-BREAK SPACE}", "")
    assert round(100 / INCH_MM * 16) == 3 * 16 + 15


@given(
    length=st.floats(1.0, 5000.0),
    page=st.floats(60.0, 400.0),
    overlap=st.floats(0.0, 25.0),
)
def test_tiles_cover_a_strip_and_overlap_by_what_was_asked(length: float, page: float, overlap: float) -> None:
    found = gauge.tiles(length, page, overlap)
    assert found[0].from_mm == 0.0
    assert found[-1].to_mm >= length - 1e-6
    assert all(each.to_mm - each.from_mm == pytest.approx(page) for each in found)
    for before, after in pairwise(found):
        assert before.to_mm - after.from_mm == pytest.approx(overlap)
    if len(found) > 1:
        assert found[-2].to_mm < length  # no page more than is needed


def test_a_strip_on_two_pages_joins_up_to_the_wet_size(awkward: Plan, awkward_folder: Path) -> None:
    plate = awkward.forms[0]
    pages = gauge_pages(awkward_folder, awkward, plate)
    assert len(pages) == 2
    joins = []
    for page in pages:
        across = [e for e in page.level_lines() if e.length == pytest.approx(page.size_mm[0] - 30.0 + 6.0, abs=0.01)]
        assert len(across) == 1
        joins.append(across[0].y1)
        assert "joinA" in page.text.replace(" ", "")
    to_the_join = joins[0] - base_of(pages[0])
    marks = [e.y1 for e in lines_as_long_as(pages[1], gauge.STRIP_MM + 4.0)]
    whole = max(to_the_join + (mark - joins[1]) for mark in marks)
    assert whole == pytest.approx(300.0 / (1.0 - 0.12), abs=CLOSE_MM)


def test_the_balls_digits_are_twenty_millimetres_high(demo: Plan, demo_folder: Path) -> None:
    face = ImageFont.truetype(str(FONTS / "atkinson-hyperlegible-next-700.ttf"), 1000)
    _, top, _, bottom = face.getbbox("1", anchor="ls")
    for form in demo.forms:
        first = pages_of(demo_folder / f"throw-{names_of_forms(demo)[form.name]}.pdf")[0]
        digits = max(first.words, key=lambda words: words.points)
        assert digits.text == f"{round(form.ball_g / 5) * 5:.0f}"
        assert digits.points * MM * (bottom - top) / 1000 == pytest.approx(20.0, abs=0.1)
