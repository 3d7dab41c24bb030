"""Boxes of the kiln pages, read as the rest of Wareboard reads, with its words for what is wrong."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from django import forms

from wareboard.errors import Problems, WareboardError
from wareboard.plan.fields import plain_number
from wareboard.studio.paper_form import Trouble
from wareboard.studio.today import today


class Read(forms.CharField):
    """A box whose words are read by a function that refuses in our words."""

    def __init__(self, read: Callable[[str], Any], example: str = "", **more: Any) -> None:
        super().__init__(required=more.pop("required", False), **more)
        self.read = read
        self.widget.attrs |= {"autocomplete": "off"} | ({"placeholder": example} if example else {})

    def clean(self, value: Any) -> Any:
        words = super().clean(value)
        if not words.strip():
            return None
        try:
            return self.read(words)
        except WareboardError as problem:
            raise forms.ValidationError(str(problem)) from None


THOUSANDS = re.compile(r"\d{1,3}(?:[.,]\d{3})+")
EARLIEST, DAYS_AHEAD = date(1950, 1, 1), 400


def number(
    label: str, note: str = "", example: str = "", least: float = 0.0, most: float = 1e6, whole: bool = False
) -> Read:
    """A number between two ends, or nothing; the unit that the label ends with may stand behind it.

    ``whole``: as a meter counts, so that "10,432" might be either of two figures and is asked about.
    """
    unit = label.rpartition(", ")[2] if ", " in label else ""

    def read(words: str) -> float:
        from wareboard.errors import OutOfRange

        words = words.strip()
        if unit and words.lower().endswith(unit.lower()):
            words = words[: -len(unit)].strip()
        if whole and THOUSANDS.fullmatch(words):
            plain = re.sub("[.,]", "", words)
            raise OutOfRange(words, f"it may be {plain} or a figure with decimals", f"Write {plain} if that is meant")
        value = plain_number(words)
        if not least <= value <= most:
            raise OutOfRange(words.strip(), f"it must lie from {least:g} to {most:g}", "Check the figure and its unit")
        return value

    box = Read(read, example, label=label, help_text=note)
    box.widget.attrs["inputmode"] = "decimal"
    return box


def _near_now(value: date) -> None:
    """A slip of the year is caught: what is recorded here is neither of another age nor far ahead."""
    if not EARLIEST <= value <= today() + timedelta(days=DAYS_AHEAD):
        raise forms.ValidationError(f"{value.isoformat()} is no day for this. Look at the year.")


def day(label: str, note: str = "") -> forms.DateField:
    """A day, not of another age and not far ahead."""
    box = forms.DateField(
        label=label,
        help_text=note,
        validators=[_near_now],
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    box.error_messages |= {
        "required": "A firing has a day. Write it as year-month-day.",
        "invalid": "This is not a day. Write it as year-month-day.",
    }
    return box


def told(problem: WareboardError) -> list[Trouble]:
    """Everything an error tells, each as a line."""
    return [Trouble(str(each)) for each in (problem.problems if isinstance(problem, Problems) else (problem,))]


def troubles_of(form: forms.BaseForm) -> list[Trouble]:
    """Everything that is wrong in a form, each with the box it is about."""
    found = [Trouble(str(words)) for words in form.non_field_errors()]
    for bound in form:
        found += [Trouble(str(words), bound.id_for_label, str(bound.label)) for words in bound.errors]
        if bound.errors:
            bound.field.widget.attrs["aria-invalid"] = "true"
    return found
