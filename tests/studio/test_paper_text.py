"""Changing a text by its fields keeps everything else as it was typed."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.studio.conftest import CUPS
from wareboard.errors import Unreadable
from wareboard.plan.reading import read_brief
from wareboard.studio.brief_fields import BRIEF_PARTS, WORKSHOP_PARTS, boxes_of
from wareboard.studio.paper_text import PaperText

HEIGHT = ("forms", 0, "height")


def test_a_field_shows_what_was_typed_not_what_it_means() -> None:
    assert PaperText(CUPS).shown(HEIGHT) == "3 3/4 in"
    assert PaperText(CUPS).shown(("due",)) == "2027-02-12"
    assert PaperText(CUPS).shown(("forms", 0, "wall")) == ""


def test_fields_left_as_they_were_leave_the_text_as_it_was_to_the_byte() -> None:
    paper = PaperText(CUPS)
    for _part, stem, box in boxes_of(paper, BRIEF_PARTS):
        path = box.path(stem)
        if box.kind == "amounts":
            paper.put_amounts(path, paper.shown(path))
        else:
            paper.put(path, paper.shown(path), box.kind)
    assert paper.text() == CUPS


def test_one_change_changes_one_line() -> None:
    paper = PaperText(CUPS)
    paper.put(HEIGHT, "4 in")
    before, after = CUPS.splitlines(), paper.text().splitlines()
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert changed == [('height = "3 3/4 in"', 'height = "4 in"')]


def test_a_new_field_and_a_new_table_are_put_in_and_taken_out_again() -> None:
    paper = PaperText(CUPS)
    paper.put(("forms", 0, "handle", "gap"), "28 mm")
    paper.put(("firing", "glaze_cone"), "cone 6")
    read = read_brief(paper.text())
    assert read.forms[0].handle is not None
    assert read.forms[0].handle.gap == 28
    assert read.firing.glaze_cone == "6"
    paper.put(("forms", 0, "handle", "gap"), "")
    assert "gap" not in paper.text()


def test_counts_days_and_plain_numbers_become_such_and_anything_else_stays_words() -> None:
    paper = PaperText(CUPS)
    paper.put(("forms", 0, "count"), "30", "count")
    paper.put(("due",), "2027-03-01", "day")
    paper.put(("glazes", 0, "specific_gravity"), "1.450", "number")
    assert "count = 30" in paper.text()
    assert "due = 2027-03-01" in paper.text()
    assert "specific_gravity = 1.450" in paper.text()
    paper.put(("forms", 0, "count"), "about thirty", "count")
    paper.put(("due",), "in spring", "day")
    assert 'count = "about thirty"' in paper.text()
    assert 'due = "in spring"' in paper.text()


def test_measured_bars_are_written_as_they_were_typed_and_left_alone_where_they_are_the_same() -> None:
    paper = PaperText(CUPS)
    paper.put_rows(
        ("clay", "measured"), [{"wet": "100 mm", "fired": "88 mm", "direction": ""}, {"wet": "", "fired": ""}]
    )
    text = paper.text()
    assert tomllib.loads(text)["clay"]["measured"] == [{"wet": "100 mm", "fired": "88 mm"}]
    again = PaperText(text)
    again.put_rows(("clay", "measured"), [{"wet": "100 mm", "fired": "88 mm", "direction": ""}])
    assert again.text() == text
    again.put_rows(("clay", "measured"), [{"wet": " ", "fired": "", "direction": "height"}])
    assert "measured" not in again.text()


def test_a_recipe_is_written_line_by_line_and_an_odd_line_is_named() -> None:
    paper = PaperText(CUPS)
    paper.put_amounts(("glazes", 0, "recipe"), "silica / flint 31\nwhiting: 20\nneph sy = 49.5")
    assert read_brief(paper.text()).glazes[0].recipe == {"silica / flint": 31, "whiting": 20, "neph sy": 49.5}
    with pytest.raises(Unreadable, match="some whiting"):
        paper.put_amounts(("glazes", 0, "recipe"), "silica 3\nsome whiting")


def test_forms_can_be_added_and_taken_out() -> None:
    paper = PaperText(CUPS)
    number = paper.add("forms", {"name": "Saucer", "count": 24, "rim": "140 mm"})
    assert [form.name for form in read_brief(paper.text()).forms] == ["Cup", "Saucer"]
    paper.take_away("forms", number)
    assert read_brief(paper.text()).forms == read_brief(CUPS).forms
    bare = PaperText('due = 2027-02-12\n[clay]\nshrinkage = "12 %"\n')
    bare.add("forms", {"name": "Bowl", "count": 2, "rim": "150 mm"})
    assert read_brief(bare.text()).forms[0].name == "Bowl"


@pytest.mark.parametrize(
    "text",
    [
        'due = 2027-02-12\nforms = [{ name = "Cup", count = 4, height = "9 cm" }]\nclay = { shrinkage = "12 %" }\n',
        'due = 2027-02-12\nclay.shrinkage = "12 %"\n[[forms]]\ncount = 4\nheight = "9 cm"\nhandle.gap = "3 cm"\n',
        'due = 2027-02-12\r\n[clay]\r\nshrinkage = "12 %"\r\n[[forms]]\r\nname = "Cup"\r\ncount = 4\r\nheight = "9 cm"\r\n',
    ],
)
def test_other_layouts_of_the_same_text_can_be_changed_too(text: str) -> None:
    paper = PaperText(text)
    paper.put(HEIGHT, "95 mm")
    paper.put(("forms", 0, "handle", "gap"), "31 mm")
    paper.put(("clay", "shrinkage"), "11 %")
    read = read_brief(paper.text())
    assert read.forms[0].height == 95
    assert read.forms[0].handle is not None
    assert read.forms[0].handle.gap == 31
    assert read.clay.shrinkage == 0.11


@given(st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1).filter(lambda words: words.strip()))
def test_whatever_is_typed_comes_back_as_it_was_typed(words: str) -> None:
    paper = PaperText(CUPS)
    paper.put(("client",), words)
    assert PaperText(paper.text()).shown(("client",)) == words.strip()


def test_text_that_is_no_toml_is_refused_in_words() -> None:
    with pytest.raises(Unreadable, match="not TOML"):
        PaperText("due = ")


@pytest.mark.parametrize("parts", [BRIEF_PARTS, WORKSHOP_PARTS])
def test_every_box_is_a_field_that_the_plan_reads(parts: tuple[object, ...]) -> None:
    """Each box, filled with something that fits, reads without "no field has this name"."""
    from wareboard.plan.brief import Brief
    from wareboard.plan.workshop import Workshop

    model = Brief if parts is BRIEF_PARTS else Workshop
    for part in parts:
        for box in part.boxes:  # type: ignore[attr-defined]
            here: object = model
            for name in (*((part.key,) if part.key else ()), *box.key.split(".")):  # type: ignore[attr-defined]
                fields = here.model_fields  # type: ignore[attr-defined]
                assert name in fields, (part, box.key)
                here = _inner(fields[name].annotation)


def _inner(annotation: object) -> object:
    from typing import get_args

    if hasattr(annotation, "model_fields"):
        return annotation
    return next((found for arg in get_args(annotation) if (found := _inner(arg)) is not None), None)
