"""What a schedule is asked for: the boxes in the address, so that a schedule can be sent on, printed and gone back to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django import forms

from wareboard.book.firings.models import KINDS
from wareboard.errors import OutOfRange
from wareboard.kiln.chart import FORMS
from wareboard.plan.workshop import Firing as FiringHabits
from wareboard.quantities import cone_name, duration_s, length_mm, share
from wareboard.studio.kilns import boxes
from wareboard.studio.kilns.firing_form import USUAL_CONES
from wareboard.studio.kilns.known_kilns import KnownKiln
from wareboard.studio.kilns.schedule_text import MOST_SEGMENTS, going_somewhere, segments_of

if TYPE_CHECKING:
    from wareboard.kiln.segment import Schedule

USUAL_HOLD_MIN = {"bisque": 0.0, "glaze": 15.0}
LOADERS = (("top-loader", "Top-loader"), ("front-loader", "Front-loader, thick brick"))
MORE_ROWS = 2


def _minutes(words: str) -> float:
    return duration_s(words, "min") / 60.0


class ScheduleForm(forms.Form):
    """The boxes of a schedule."""

    kind = forms.ChoiceField(label="Kind", choices=KINDS)
    cone = boxes.Read(cone_name, "6", label="Cone")
    form = forms.ChoiceField(label="Form of the cones", choices=[(each, each.capitalize()) for each in FORMS])
    hold = boxes.Read(_minutes, "15 min", label="Hold at the peak")
    thickest = boxes.Read(length_mm, "6 mm", label="Thickest place in the load")
    wet = boxes.Read(
        share, "0 %", label="Water in the wettest board", help_text="Share of its dry weight; bone dry is 0."
    )
    candle = boxes.Read(lambda words: duration_s(words, "h") / 3600.0, "by the wall", label="Candle, bisque")
    kiln = forms.ChoiceField(label="Kiln", required=False)
    loader = forms.ChoiceField(label="Way it is loaded", choices=LOADERS, required=False)
    slow = forms.BooleanField(label="Slow cooling, for crystals in the glaze", required=False)
    plates = forms.BooleanField(label="Plates stand in the load", required=False)

    def __init__(self, data: dict[str, str], kilns: list[KnownKiln]) -> None:
        super().__init__(data)
        box = self.fields["kiln"]
        assert isinstance(box, forms.ChoiceField)
        box.choices = [(each.slug, each.name) for each in kilns] + [("", "No kiln: leave out what it can do")]

    @property
    def ticks(self) -> list[forms.BoundField]:
        """The boxes to tick."""
        return [self["slow"], self["plates"]]

    @property
    def open_boxes(self) -> list[forms.BoundField]:
        """The boxes to write in."""
        return [self[name] for name in self.fields if name not in ("slow", "plates")]


@dataclass(frozen=True, slots=True)
class Asked:
    """A schedule as it was asked for, with what goes with it."""

    schedule: Schedule
    thickest_mm: float
    wet_share: float
    loader: str
    plates: bool
    kiln: KnownKiln | None
    by_hand: bool


def with_habits(given: dict[str, str], habits: FiringHabits, kilns: list[KnownKiln]) -> dict[str, str]:
    """What was asked, with what was left out as the workshop fires; nothing is filled in once the form was sent."""
    if "form" in given:  # a link names kind and cone; the form sends every box
        return given
    kind = "bisque" if given.get("kind") == "bisque" else "glaze"
    habit = habits.bisque_cone if kind == "bisque" else habits.glaze_cone
    hold = habits.hold if kind == "glaze" and habits.hold is not None else USUAL_HOLD_MIN[kind]
    usual = {
        "kind": kind,
        "cone": habit or USUAL_CONES[kind],
        "form": habits.cone_form,
        "hold": f"{hold:g} min",
        "thickest": "6 mm",
        "kiln": kilns[0].slug if kilns else "",
        "loader": LOADERS[0][0],
    }
    return usual | ({"slow": "on"} if habits.slow_cooling and kind == "glaze" else {}) | given


def asked_for(form: ScheduleForm, kilns: list[KnownKiln], posted: dict[str, str]) -> Asked:
    """The schedule that valid boxes ask for: solved, or as its segments were written by hand.

    Raises:
        WareboardError: for a cone that is in no chart, a wall or hold outside what is known, segments that go nowhere.
    """
    got = form.cleaned_data
    thickest = got["thickest"] if got["thickest"] is not None else 6.0
    kiln = next((each for each in kilns if each.slug == got["kiln"]), None)
    by_hand = posted.get("do") == "hand"
    made = _by_hand(got, posted) if by_hand else _solved(got, thickest)
    return Asked(made, thickest, got["wet"] or 0.0, got["loader"] or LOADERS[0][0], got["plates"], kiln, by_hand)


def _solved(got: dict[str, Any], thickest_mm: float) -> Schedule:
    from wareboard.kiln.schedule import bisque_schedule, glaze_schedule

    cone = got["cone"] or USUAL_CONES[got["kind"]]
    hold = USUAL_HOLD_MIN[got["kind"]] if got["hold"] is None else got["hold"]
    if got["kind"] == "bisque":
        return bisque_schedule(cone, thickest_mm, got["candle"], hold, got["form"])
    return glaze_schedule(cone, hold, got["slow"], thickest_mm, got["form"])


def _by_hand(got: dict[str, Any], posted: dict[str, str]) -> Schedule:
    from wareboard.kiln.segment import Schedule

    rows = [
        tuple(posted.get(f"{what}-{at}", "") for what in ("rate", "target", "stay", "why"))
        for at in range(1, MOST_SEGMENTS + 2)
    ]
    segments = segments_of(rows)
    if not segments:
        raise OutOfRange("the schedule", "it has no segment", "Write at least one rate and target")
    cone = got["cone"] or USUAL_CONES[got["kind"]]
    return going_somewhere(Schedule(f"{got['kind']}, by hand", segments, 20.0, cone, got["form"], got["kind"]))


def rows_of(schedule: Schedule | None, posted: dict[str, str]) -> list[dict[str, Any]]:
    """The segments' boxes: those of the schedule and two empty ones; what was typed where there is no schedule."""
    written: list[dict[str, Any]] = [
        {
            "at": at,
            "rate": f"{each.rate_c_per_h:g}",
            "target": f"{each.target_c:g}",
            "stay": f"{each.hold_min:g}",
            "why": each.why,
        }
        for at, each in enumerate(schedule.segments if schedule else (), 1)
    ]
    if schedule is None:
        typed: list[dict[str, Any]] = [
            {"at": at, **{what: posted.get(f"{what}-{at}", "") for what in ("rate", "target", "stay", "why")}}
            for at in range(1, MOST_SEGMENTS + 1)
        ]
        last = max((row["at"] for row in typed if row["rate"] or row["target"]), default=0)
        written = typed[:last]
    empty = {"rate": "", "target": "", "stay": "", "why": ""}
    return [*written, *({"at": len(written) + more, **empty} for more in range(1, MORE_ROWS + 1))]
