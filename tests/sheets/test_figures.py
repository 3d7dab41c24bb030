"""The files that a machine reads: complete, equal to the plan, and readable by others' libraries."""

from __future__ import annotations

import csv
import json
import math
from datetime import UTC, datetime
from pathlib import Path
from xml.etree import ElementTree

import pytest
from icalendar import Calendar

from wareboard.plan.reading import read_brief
from wareboard.plan.result import Plan
from wareboard.working import worked_out

SVG = "{http://www.w3.org/2000/svg}svg"
CASES = [("demo", "demo_folder"), ("smallest", "smallest_folder"), ("awkward", "awkward_folder")]


@pytest.fixture(params=CASES, ids=[case[0] for case in CASES])
def printed(request: pytest.FixtureRequest) -> tuple[Plan, Path]:
    return request.getfixturevalue(request.param[0]), request.getfixturevalue(request.param[1])


def test_the_json_holds_every_step_of_the_plan(printed: tuple[Plan, Path]) -> None:
    plan, folder = printed
    data = json.loads((folder / "figures.json").read_text(encoding="utf-8"))
    steps = list(plan.all_steps())
    assert len(data["figures"]) == len(steps) > 50
    for figure, step in zip(data["figures"], steps, strict=True):
        assert figure["key"] == step.key
        assert figure["name"] == step.name
        assert figure["value"] == step.value
        assert figure["unit"] == step.unit
        assert (figure["low"], figure["high"]) == (step.low, step.high)
        assert figure["formula"] == step.formula
        assert figure["inputs"] == {name: float(value) for name, value in step.inputs.items()}
        assert figure["source"] == step.source
        assert figure["source_in_words"]
    keys = [figure["key"] for figure in data["figures"]]
    assert len(set(keys)) == len(keys)
    assert [each["key"] for each in data["defaults_used"]] == [each.key for each in plan.assumed]
    assert len(data["notices"]) == len(plan.notices)


def test_every_formula_in_the_json_works_out_to_its_value(printed: tuple[Plan, Path]) -> None:
    _, folder = printed
    figures = json.loads((folder / "figures.json").read_text(encoding="utf-8"))["figures"]
    with_formula = [figure for figure in figures if figure["formula"]]
    assert len(with_formula) > 30
    for figure in with_formula:
        found = worked_out(figure["formula"], figure["inputs"])
        assert math.isclose(found, figure["value"], rel_tol=1e-6, abs_tol=0.006), figure["key"]


def test_the_csv_says_the_same_as_the_json(printed: tuple[Plan, Path]) -> None:
    _, folder = printed
    figures = json.loads((folder / "figures.json").read_text(encoding="utf-8"))["figures"]
    with (folder / "figures.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(figures)
    for row, figure in zip(rows, figures, strict=True):
        assert row["key"] == figure["key"]
        assert float(row["value"]) == figure["value"]
        assert (float(row["low"]) if row["low"] else None) == figure["low"]
        assert json.loads(row["inputs"]) == figure["inputs"]
        assert row["source"] == figure["source"]


def test_the_calendar_file_reads_with_an_icalendar_library(printed: tuple[Plan, Path]) -> None:
    plan, folder = printed
    sheet = Calendar.from_ical((folder / "calendar.ics").read_bytes())
    events = sheet.walk("VEVENT")
    assert len(events) == len(plan.calendar.entries) + 1
    assert len({str(event["uid"]) for event in events}) == len(events)
    noon = datetime.combine(plan.brief.due, datetime.min.time().replace(hour=12), UTC)
    assert {event["dtstamp"].dt for event in events} == {noon}
    starts = sorted(event["dtstart"].dt for event in events if isinstance(event["dtstart"].dt, datetime))
    assert starts == sorted(entry.start for entry in plan.calendar.entries)


def assert_alike(one: object, other: object) -> None:
    """The same, but for the last figures of numbers: a brief is written in tenths of a gram."""
    if isinstance(one, dict) and isinstance(other, dict):
        assert one.keys() == other.keys()
        for key, value in one.items():
            assert_alike(value, other[key])
    elif isinstance(one, list | tuple) and isinstance(other, list | tuple):
        assert len(one) == len(other)
        for first, second in zip(one, other, strict=True):
            assert_alike(first, second)
    elif isinstance(one, float):
        assert one == pytest.approx(other, rel=1e-5)
    else:
        assert one == other


def test_the_brief_reads_back_to_the_same(printed: tuple[Plan, Path]) -> None:
    plan, folder = printed
    again = read_brief((folder / "brief.toml").read_text(encoding="utf-8"))
    assert_alike(again.model_dump(), plan.brief.model_dump())


def test_the_drawings_are_svg_with_a_title(printed: tuple[Plan, Path]) -> None:
    _, folder = printed
    drawings = [*folder.glob("sections/*.svg"), *folder.glob("shelves/*.svg")]
    assert drawings
    for file in drawings:
        root = ElementTree.parse(file).getroot()
        assert root.tag == SVG
        assert root[0].tag.endswith("title")
        assert root[0].text
        assert root.attrib["width"].endswith("mm")


def test_the_schedule_file_ends_at_the_peak_of_the_plan(printed: tuple[Plan, Path]) -> None:
    plan, folder = printed
    for firing in (plan.bisque, plan.glaze_firing):
        with (folder / f"{firing.kind}-schedule.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        assert len(rows) == len(firing.schedule.segments)
        assert max(float(row["target_c"]) for row in rows) == firing.schedule.peak_c
