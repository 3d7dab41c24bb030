"""The boxes of the pages on what was learned."""

from __future__ import annotations

from django import forms

from wareboard import reference
from wareboard.book.learning.acting import LONGEST_MIN, MOST_PIECES, Sat
from wareboard.studio.kilns import boxes
from wareboard.studio.words import capital


def _tasks() -> list[tuple[str, str]]:
    return [(each.key, capital(each.label)) for each in reference.defaults() if each.key.startswith("minutes.")]


class TimeForm(forms.Form):
    """A sitting: what was done, how many, how long, by whom, when."""

    task = forms.ChoiceField(label="What was done", choices=_tasks)
    pieces = forms.IntegerField(
        label="How many", min_value=1, max_value=MOST_PIECES, widget=forms.NumberInput(attrs={"inputmode": "numeric"})
    )
    minutes = forms.FloatField(
        label="Minutes in all",
        min_value=0.1,
        max_value=LONGEST_MIN,
        help_text="Hands-on, without the tea.",
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
    )
    person = forms.CharField(label="Who", max_length=60, required=False)
    day = boxes.day("Day")
    commission_code = forms.CharField(
        label="For which commission", max_length=12, required=False, help_text="Its code, or none."
    )
    note = forms.CharField(label="Note", max_length=200, required=False)

    def sat(self) -> Sat:
        """What was typed."""
        typed = self.cleaned_data
        return Sat(
            typed["task"], typed["pieces"], typed["minutes"], typed["day"], typed["person"], typed["commission_code"],
            typed["note"],
        )  # fmt: skip


class LotForm(forms.Form):
    """Where a figure begins afresh."""

    name = forms.CharField(label="What is new", max_length=80, help_text="A delivery of clay, elements, another hand.")
    day = boxes.day("From which day")
