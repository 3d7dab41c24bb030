"""What stands on the sheets: the plan's own numbers, in the trade's words, and nothing that must not be said.

Text is read out of the finished PDF files, so that a figure that is cut off or left out is missed.
"""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path

import pytest

from tests.sheets.reading_pdf import pages_of, squeezed, text_of
from tests.written_by_people import as_arithmetic
from wareboard import quantities
from wareboard.plan import compile
from wareboard.plan.reading import read_brief
from wareboard.plan.result import Plan
from wareboard.plan.workshop import Workshop
from wareboard.sheets import client_sheets, cutting, data, kiln_sheets, making
from wareboard.sheets.client_sheets import money
from wareboard.sheets.degrees import in_degrees, notices_shown, temperature
from wareboard.sheets.dossier import names_of_forms
from wareboard.working import Step, worked_out

TODAY = date(2026, 11, 25)

CASES = [("demo", "demo_folder"), ("smallest", "smallest_folder"), ("awkward", "awkward_folder")]


@pytest.fixture(params=CASES, ids=[case[0] for case in CASES])
def printed(request: pytest.FixtureRequest) -> tuple[Plan, Path]:
    return request.getfixturevalue(request.param[0]), request.getfixturevalue(request.param[1])


def said(text: str, words: str) -> bool:
    return squeezed(words) in text


def test_no_sheet_calls_ware_safe(printed: tuple[Plan, Path]) -> None:
    for file in printed[1].glob("*.pdf"):
        assert not re.search(
            r"\b(food|lead|dishwasher|microwave)?-?safe\b", " ".join(p.text for p in pages_of(file)).lower()
        )


def test_the_summary_answers_the_five_questions_and_names_every_default(printed: tuple[Plan, Path]) -> None:
    plan, folder = printed
    text = text_of(folder / "01-job-summary.pdf")
    for form in plan.forms:
        assert said(text, form.name)
        assert said(text, quantities.show_mass(form.ball_g))
    bags, slack = plan.clay.bags, plan.calendar.slack_days
    assert said(text, f"{data.counted(bags.bags, 'bag')} of {quantities.show_mass(plan.clay.block.block_g)}")
    assert said(text, f"{slack} days to spare before {data.day(plan.brief.due)}")
    for firing in (plan.bisque, plan.glaze_firing):
        assert said(text, f"{firing.firings}{firing.kind} to cone {firing.cone}")
    price = plan.price.agreed_price if plan.price.agreed_price is not None else plan.price.quote
    assert said(text, f"{plan.price.currency} {price:,.0f}")
    for each in plan.assumed:
        assert said(text, each.label), each.label
    for notice in notices_shown(plan):
        assert said(text, notice.mend), notice.mend


def test_each_form_has_its_sizes_at_every_stage_on_its_card(printed: tuple[Plan, Path]) -> None:
    plan, folder = printed
    unit = "in" if plan.brief.show_lengths == "in" else "mm"
    for form in plan.forms:
        text = text_of(folder / f"throw-{names_of_forms(plan)[form.name]}.pdf")
        for name, lengths in form.lengths.items():
            row = "".join(data.length(lengths.at(stage), unit) for stage in making.STAGES)
            assert said(text, name + row), (form.name, name)
        assert said(text, f"{form.start}to start, for {form.form.count} wanted")
        if form.handle_blank_g:
            assert said(text, f"{quantities.show_mass(form.handle_blank_g)}handle blank")


def test_wet_sizes_are_shown_to_the_millimetre_and_not_rounded_away() -> None:
    assert data.length(107.95, "mm") == "108\N{NO-BREAK SPACE}mm"
    assert data.length(5.68, "mm") == "5.7\N{NO-BREAK SPACE}mm"
    assert data.length(88.9, "in") == "3 1/2\N{NO-BREAK SPACE}in"
    assert data.tolerance(0.4, "in") == "±1/16\N{NO-BREAK SPACE}in"
    assert data.between(88.3, 89.6, "length", "mm") == "88 to 90\N{NO-BREAK SPACE}mm"
    assert data.between(1345.0, 3700.0, "ml") == "1345 ml to 3.7 l"
    assert data.between(265.0, 325.0, "g") == "265 to 325 g"


def test_the_tally_has_a_box_for_every_piece(demo: Plan, awkward: Plan) -> None:
    for form in demo.forms:
        sheet = making.throw_sheet(demo, form, "a4")
        boxes = {
            name: sum(map(sum, [groups for row, groups in _by_row(sheet["tally"]) if row == name]))
            for name in ("started", "good")
        }
        assert boxes == {"started": form.start, "good": form.form.count}
    many = next(form for form in awkward.forms if form.start > 120)
    fives = [groups for row, groups in _by_row(making.throw_sheet(awkward, many, "a4")["tally"]) if row == "started"]
    assert sum(map(sum, fives)) * 5 >= many.start > (sum(map(sum, fives)) - 1) * 5


def _by_row(tally: list[list[object]]) -> list[tuple[str, list[int]]]:
    found, name = [], ""
    for words, groups in tally:
        name = str(words) or name
        found.append((name, groups))
    return found  # type: ignore[return-value]


def test_the_mark_is_drawn_at_its_leather_hard_height(demo: Plan, demo_folder: Path) -> None:
    """A 20 mm mark on clay that shrinks 12 %, of which 3 % are gone, is drawn 22.05 mm high: 20 / (0.88 / 0.97)."""
    from dataclasses import replace

    from wareboard.clay.shrinkage import StageLoss

    cup = replace(demo.forms[0], loss_height=StageLoss(0.03, 0.06, 0.065, 0.12))
    lengths = making.mark_lengths(demo, cup)
    assert lengths is not None
    assert lengths.leather_hard_mm == pytest.approx(22.05, abs=0.005)
    shown = making.mark_lengths(demo, demo.forms[0])
    assert shown is not None
    assert said(text_of(demo_folder / "throw-handled-cup.pdf"), f"{shown.leather_hard_mm:.1f} mm")


def test_blocks_give_as_many_balls_as_are_thrown(printed: tuple[Plan, Path]) -> None:
    plan, folder = printed
    text = text_of(folder / "cutting-plan.pdf")
    for form in plan.forms:
        assert form.cut is not None
        assert said(text, form.cut.words)
        assert said(text, f"{form.start + 3} balls ({form.start} and 3 to warm up)")


def test_cut_lines_of_a_block_lie_on_its_faces(demo: Plan) -> None:
    """Each cut shows on the two faces that it crosses, of the three that are seen, and never off the block."""
    block = demo.clay.block.size_mm
    for form in demo.forms:
        assert form.cut is not None
        lines = cutting._cut_lines(form.cut, block)
        assert lines
        for start, end in lines:
            for spot in (start, end):
                assert all(-1e-6 <= at <= side + 1e-6 for at, side in zip(spot, block, strict=True))
                assert abs(spot[1]) < 1e-6 or abs(spot[0] - block[0]) < 1e-6 or abs(spot[2] - block[2]) < 1e-6


def test_shelf_plans_show_every_shelf_of_every_load(printed: tuple[Plan, Path]) -> None:
    plan, folder = printed
    text = text_of(folder / "shelf-plans.pdf")
    for firing in (plan.bisque, plan.glaze_firing):
        loads = firing.loads.loads
        kinds = kiln_sheets.patterns(loads)
        places = [place for found in kinds.values() for place in found]
        assert sorted(places) == [(number, at) for number, load in enumerate(loads) for at in range(len(load))]
        for found in kinds.values():
            counts = [loads[load][at].counts for load, at in found]
            assert all(each == counts[0] for each in counts)
        for number, load in enumerate(loads, 1):
            assert said(text, f"Load {number}: {sum(layout.pieces for layout in load)} pieces")
    assert said(text, "drawn 1 : ")


def test_firing_cards_say_form_rate_edition_and_when_to_open(printed: tuple[Plan, Path]) -> None:
    plan, folder = printed
    text = text_of(folder / "firing-cards.pdf")
    degrees = plan.brief.show_temperatures
    for firing in (plan.bisque, plan.glaze_firing):
        end = firing.end_point
        assert said(text, f"Cone {end.cone} goes down at {temperature(end.temp_c, degrees)}")
        assert said(text, f"{end.form} cone")
        assert said(text, f"{end.edition} chart, {end.status}")
        assert said(text, temperature(firing.schedule.peak_c, degrees))
    for word in ("do not open before", "infrared", "vent", "Mains current", "electrician", "guide", "guard"):
        assert said(text, word), word


def test_fahrenheit_is_nine_fifths_and_thirty_two() -> None:
    assert temperature(100.0, "F") == "212 °F"
    assert temperature(1222.0, "C") == "1222 °C"


def test_the_weighing_sheet_has_each_line_with_its_running_total(demo: Plan, demo_folder: Path) -> None:
    text = text_of(demo_folder / "glaze-cards.pdf")
    batches = [glaze.batch for glaze in demo.glazes if glaze.batch]
    assert batches
    for batch in batches:
        total = 0.0
        for line in batch.lines:
            total += line.grams
            assert said(text, f"{line.material}{line.grams:,.0f}{total:,.0f}")
    for glaze in demo.glazes:
        assert said(text, glaze.glaze.name)
        assert said(text, glaze.glaze.raw_colour)
        assert said(text, glaze.glaze.fired_colour)
        assert said(text, quantities.show_volume(glaze.need.slip_ml))
    assert said(text, "respirator")


def test_glaze_on_the_forms_adds_up_to_what_goes_on_the_ware(demo: Plan) -> None:
    from wareboard.sheets.glaze_sheets import glaze_sheet

    for card, glaze in zip(glaze_sheet(demo, "a4")["cards"], demo.glazes, strict=True):
        grams = sum(int(row[1]) * float(row[3].split()[0]) for row in card["forms"])
        # Each is shown to a tenth of a gram.
        assert grams == pytest.approx(glaze.need.on_ware_g, abs=0.05 * sum(glaze.pieces.values()) + 1.0)


def test_the_calendar_names_all_hands_work_and_every_load(printed: tuple[Plan, Path]) -> None:
    plan, folder = printed
    text = text_of(folder / "calendar.pdf")
    for entry in plan.calendar.entries:
        if entry.who and not entry.place and len(entry.form) < 30:
            assert said(text, entry.name.replace(", then dry under cover", "")), entry.name
        if entry.kind == "waiting" and entry.place:
            assert said(text, entry.name.split(":")[0] + ": firing")
    for who in (*plan.people, *plan.kilns):
        assert said(text, who.name)
    assert said(text, f"due {data.day(plan.brief.due)}")


def test_what_dries_by_itself_is_told_on_its_day(demo: Plan) -> None:
    from wareboard.sheets.calendar_sheets import calendar_sheet

    told = [
        (number, words)
        for week in calendar_sheet(demo, "a4")["weeks"]
        for row in week["rows"]
        if row["name"] == "by itself"
        for number, cell in zip(week["days"], row["cells"], strict=True)
        for _, words in cell
    ]
    for entry in demo.calendar.entries:
        if entry.stage == "dried" and entry.kind == "waiting":
            day = f"{entry.end:%a} {entry.end.day} {entry.end:%b}"
            assert any(at == day and words.startswith(entry.form) and "bone dry" in words for at, words in told)


def test_the_quote_shows_prices_and_no_inner_costs(printed: tuple[Plan, Path]) -> None:
    plan, folder = printed
    assert len(pages_of(folder / "quote.pdf")) == 1
    text = text_of(folder / "quote.pdf")
    price = plan.price
    total = price.agreed_price if price.agreed_price is not None else price.quote
    deposit = min(price.deposit_to_ask, total)
    for words, amount in (
        ("Total", total),
        ("deposit, before work begins", deposit),
        ("balance, on delivery", total - deposit),
    ):
        assert said(text, words + money(amount, price.currency)), words
    for one in price.forms:
        assert said(text, f"{one.wanted}{money(one.price_each, price.currency)}{money(one.total, price.currency)}")
    for words in ("Not tested", "what may vary", "±", "Terms"):
        assert said(text, words)
    for inner in (
        "overhead",
        "wage",
        "margin",
        "earns",
        "kWh",
        "making costs",
        "exposure",
        money(price.cost.amount, price.currency),
    ):
        assert not said(text.lower(), inner.lower()), inner


def test_lines_of_the_quote_add_up_to_its_total(demo: Plan) -> None:
    price = demo.price
    assert sum(one.total for one in price.forms) + price.development == price.quote


@pytest.mark.parametrize(
    ("asked", "said_of_it"),
    [
        ("400 ml", r"holds about (280|290|300) ml as drawn \(400 ml was asked for\)"),
        ("300 ml", r"holds 300 ml$"),
        (None, r"across$"),
    ],
)
def test_a_quote_promises_no_more_than_the_drawn_form_holds(asked: str | None, said_of_it: str) -> None:
    """An upright cup 71 mm across and 75 mm deep inside holds pi / 4 * 71**2 * 75 mm3: 297 ml less an edge."""
    line = f'capacity = "{asked}"' if asked else ""
    brief = read_brief(
        f"""# An invented brief.
        due = 2027-03-01
        [[forms]]
        name = "Cup"
        shape = "cylinder"
        count = 6
        height = "80 mm"
        rim = "78 mm"
        {line}
        [clay]
        shrinkage = "12 %"
        """,
        today=TODAY,
    )
    sheet = client_sheets.quote_sheet(compile(brief, Workshop(today=TODAY), seconds=0.5), "a4")
    assert re.search(said_of_it, sheet["lines"][0][1].replace("\N{NO-BREAK SPACE}", " "))


def test_the_care_card_leaves_every_test_empty(printed: tuple[Plan, Path]) -> None:
    text = text_of(printed[1] / "care-card.pdf")
    for words in (
        "a line left empty was not tested",
        "lead and cadmium given off",
        "stop using the piece",
    ):
        assert text.count(squeezed(words)) == 2, words  # two cards to a page


def test_a_line_of_working_shows_formula_numbers_and_source() -> None:
    step = Step(
        "height, wet",
        "fired_mm / (1 - shrinkage)",
        {"fired_mm": 95.0, "shrinkage": 0.12},
        107.9545,
        "definition",
        "mm",
        105.6,
        110.5,
    )
    line = data.worked(step)
    assert line["reached"] == "fired / (1 − shrinkage) = 95 / (1 − 0.12)"
    assert line["value"] == "108.0 mm (105.6 to 110.5)"
    assert line["source"] == "by definition"


def test_numbers_put_into_a_formula_work_out_to_the_value_beside_it(printed: tuple[Plan, Path]) -> None:
    """What is printed is worked out again from the print alone: four or five figures are enough to meet the value."""
    plan, _ = printed
    seen = 0
    for step in plan.all_steps():
        if not step.formula or abs(step.value) < 1e-3:
            continue
        filled = as_arithmetic(data.put_in(step))
        found = worked_out(filled, {})
        assert found == pytest.approx(step.value, rel=2e-3, abs=0.02), (step.key, filled)
        seen += 1
    assert seen > 50


def test_sheets_carry_lines_of_working(demo_folder: Path) -> None:
    for name in (
        "01-job-summary",
        "throw-handled-cup",
        "cutting-plan",
        "shelf-plans",
        "firing-cards",
        "glaze-cards",
        "calendar",
    ):
        assert said(text_of(demo_folder / f"{name}.pdf"), "every line is in figures.json"), name
    gauge = text_of(demo_folder / "gauge-handled-cup.pdf")
    assert said(gauge, "height, wet = fired / (1 − shrinkage) = 78 / (1 − 0.1")


def test_words_in_another_script_do_not_stop_the_sheets(smallest: Plan, tmp_path: Path) -> None:
    from dataclasses import replace

    from wareboard.sheets.dossier import write

    named = replace(
        smallest, brief=smallest.brief.model_copy(update={"title": "Чашки для чая, 茶碗", "client": "<Ü & Ö> #1 $x$ *"})
    )
    folder = tmp_path / "dossier"
    write(named, folder)
    assert said(text_of(folder / "quote.pdf"), "<Ü & Ö> #1 $x$ *")
    assert said(text_of(folder / "quote.pdf"), "Чашки для чая")
    assert json.loads((folder / "figures.json").read_text(encoding="utf-8"))["commission"] == "Чашки для чая, 茶碗"


def test_temperatures_within_sentences_are_in_the_degrees_asked_for() -> None:
    """By the definition of the Fahrenheit degree: F = 9/5 C + 32, a difference without the 32."""
    assert (
        in_degrees("Open below 93 °C, with plates below 50 °C.", "F", rough=True)
        == "Open below 200 °F, with plates below 120 °F."
    )
    assert (
        in_degrees("on to 100 °C under the peak at 60 °C/h", "F", rough=True)
        == "on to 180 °F under the peak at 108 °F/h"
    )
    assert (
        in_degrees("a step of some 150 K; quartz at 573 °C", "F", rough=True)
        == "a step of some 270 °F; quartz at 1065 °F"
    )
    assert in_degrees("quartz at 573 °C", "C") == "quartz at 573 °C"


def test_a_firing_card_in_fahrenheit_has_no_celsius_but_in_its_working(awkward_folder: Path) -> None:
    pages = [page.text for page in pages_of(awkward_folder / "firing-cards.pdf")]
    for page in pages:
        assert "°C" not in page.partition("Working")[0]
    assert any("°F" in page for page in pages)


def test_a_usual_range_names_its_unit_once_and_money_its_currency() -> None:
    assert data.default_in_words(0.2, 0.18, 0.25, "") == ("20 %", "18 to 25 %")
    assert data.default_in_words(1.4, 0.8, 2.5, "per kg", "GBP") == ("GBP 1.4 per kg", "0.8 to 2.5 per kg")
    assert data.default_in_words(7.0, 7.0, 7.0, "mm") == ("7 mm", "")
