"""Boxes of the kiln pages, read as the rest of Wareboard reads, with its words for what is wrong."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms

from wareboard.errors import Problems, WareboardError
from wareboard.plan.fields import plain_number
from wareboard.studio.paper_form import Trouble


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


def number(label: str, note: str = "", example: str = "", least: float = 0.0, most: float = 1e6) -> Read:
    """A number between two ends, or nothing."""

    def read(words: str) -> float:
        from wareboard.errors import OutOfRange

        value = plain_number(words)
        if not least <= value <= most:
            raise OutOfRange(words.strip(), f"it must lie from {least:g} to {most:g}", "Check the figure and its unit")
        return value

    box = Read(read, example, label=label, help_text=note)
    box.widget.attrs["inputmode"] = "decimal"
    return box


def day(label: str, note: str = "") -> forms.DateField:
    """A day."""
    box = forms.DateField(
        label=label, help_text=note, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
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
