"""What is written of one firing: kind, cone, day, commission, plan, meter, losses, notes."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from django import forms

from wareboard.book.firings.log_summary import schedule_data, schedule_from
from wareboard.book.firings.models import KINDS, Firing
from wareboard.book.models import Commission
from wareboard.book.pieces.reordering import carried_firing
from wareboard.errors import WareboardError
from wareboard.kiln.chart import FORMS, chart_rows
from wareboard.plan.workshop import Firing as FiringHabits
from wareboard.quantities import cone_name
from wareboard.studio import plans
from wareboard.studio.history import current_of
from wareboard.studio.kilns import boxes
from wareboard.studio.kilns.schedule_text import lines_of, schedule_of

if TYPE_CHECKING:
    from wareboard.kiln.segment import Schedule

USUAL_CONES = {"bisque": "04", "glaze": "6"}
LINES_HELP = (
    "One segment a line: rate in °C/h; target in °C; hold in min. Empty if no plan is to be set beside the log."
)


class FiringForm(forms.Form):
    """The boxes of a firing."""

    kind = forms.ChoiceField(label="Kind", choices=KINDS)
    cone = boxes.Read(cone_name, "6", label="Cone", required=True)
    form = forms.ChoiceField(label="Form of the cones", choices=[(each, each.capitalize()) for each in FORMS])
    day = boxes.day("Day")
    commission_code = forms.ChoiceField(label="Commission", required=False)
    load_number = forms.IntegerField(
        label="Load of the commission",
        required=False,
        min_value=1,
        max_value=999,
        help_text="Which of its planned loads.",
    )
    schedule = forms.CharField(
        label="Planned schedule", required=False, help_text=LINES_HELP, widget=forms.Textarea(attrs={"rows": 5})
    )
    kwh = boxes.number("Energy, kWh", "Or the meter’s two readings.", "62", 0.01, 5000.0)
    meter_before_kwh = boxes.number("Meter before, kWh", "", "10432", 0.0, 1e9, whole=True)
    meter_after_kwh = boxes.number("Meter after, kWh", "", "10494", 0.0, 1e9, whole=True)
    resistance_ohm = boxes.number(
        "Elements, ohm, cold", "Measured by an electrician with the kiln isolated.", "14.4", 0.1, 1000.0
    )
    losses = forms.CharField(
        label="Losses",
        required=False,
        help_text="One a line: how many, what, why, where it stood.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    notes = forms.CharField(label="Notes", required=False, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *given: Any, **more: Any) -> None:
        super().__init__(*given, **more)
        there = Commission.objects.filter(put_away=None)
        named = [(each.code, f"{each.code} {each.name}") for each in there]
        asked = self.initial.get("commission_code") or ""
        if asked and asked not in dict(named):
            named.append((asked, asked))
        code = self.fields["commission_code"]
        assert isinstance(code, forms.ChoiceField)
        code.choices = [("", "None"), *named]

    def clean(self) -> dict[str, Any]:
        """The fields as the record keeps them."""
        got = super().clean() or {}
        before, after = got.get("meter_before_kwh"), got.get("meter_after_kwh")
        if before is not None and after is not None and after <= before:
            self.add_error("meter_after_kwh", "The meter after the firing must stand above the meter before it.")
        try:
            if got.get("cone") and got.get("form"):
                chart_rows(got["cone"], got["form"])
        except WareboardError as problem:
            self.add_error("cone", str(problem))
        if got.get("load_number") and not got.get("commission_code"):
            self.add_error("load_number", "A load is of a commission: choose which, or leave the load out.")
        lines = got.get("schedule", "").strip()
        try:
            got["schedule"] = schedule_data(self._planned(lines, got)) if lines else None
        except WareboardError as problem:
            for each in boxes.told(problem):
                self.add_error("schedule", each.words)
        return got

    def _planned(self, lines: str, got: dict[str, Any]) -> Schedule:
        kind, cone = got.get("kind", ""), got.get("cone") or ""
        return schedule_of(lines, f"{kind}, cone {cone}", cone, got.get("form", FORMS[0]), kind)


def as_written(firing: Firing) -> dict[str, Any]:
    """A firing as its boxes show it."""
    planned = schedule_from(firing.schedule)
    shown = {name: _figure(getattr(firing, name)) for name in FiringForm.base_fields}
    return shown | {"schedule": lines_of(planned) if planned else ""}


def to_begin(asked: dict[str, str], habits: FiringHabits) -> dict[str, Any]:
    """What a new firing's boxes show: what the address asks for, else as the commission's plan fires, else as usual here."""
    kind = asked.get("kind", "glaze") if asked.get("kind") in dict(KINDS) else "glaze"
    carried = carried_into(asked)
    if carried is not None and not asked.get("schedule"):
        asked = {**asked, "cone": carried.cone, "form": carried.form, "schedule": _lines_kept(carried)}
    elif asked.get("commission") and not asked.get("schedule"):
        asked = {**asked, **_as_planned(asked["commission"], kind, asked.get("cone", ""))}
    habit = habits.bisque_cone if kind == "bisque" else habits.glaze_cone
    cone = asked.get("cone") or habit or USUAL_CONES[kind]
    form = asked.get("form") if asked.get("form") in FORMS else habits.cone_form
    return {
        "kind": kind,
        "cone": cone,
        "form": form,
        "commission_code": asked.get("commission", ""),
        "load_number": asked.get("load") if asked.get("commission") and asked.get("load", "").isdecimal() else None,
        "schedule": asked.get("schedule") or _solved(kind, cone, str(form), habits),
    }


def _as_planned(code: str, kind: str, cone: str) -> dict[str, str]:
    """Cone, form and schedule of the commission's plan, as on its cards; nothing where another cone is asked."""
    commission = Commission.objects.filter(code=code).first()
    if commission is None:
        return {}
    try:
        plan = plans.plan_of_version(current_of(commission), plans.basis())
    except WareboardError:
        return {}
    firing = plan.bisque if kind == "bisque" else plan.glaze_firing
    if cone not in ("", firing.cone):
        return {}
    return {"cone": firing.cone, "form": firing.end_point.form, "schedule": lines_of(firing.schedule)}


def carried_into(asked: dict[str, str]) -> Firing | None:
    """The firing of the commission before, whose schedule a commission ordered again begins with; for the same cone."""
    kind = asked.get("kind", "glaze") if asked.get("kind") in dict(KINDS) else "glaze"
    found = carried_firing(asked["commission"], kind) if asked.get("commission") else None
    return found if found is not None and asked.get("cone", found.cone) in ("", found.cone) else None


def _lines_kept(firing: Firing) -> str:
    planned = schedule_from(firing.schedule)
    return lines_of(planned) if planned else ""


def begun_fields(kind: str, habits: FiringHabits, day: date, commission_code: str) -> dict[str, Any]:
    """The fields of a firing begun with a tap at the bench: how the workshop fires that kind, with its schedule solved."""
    begun = to_begin({"kind": kind, "commission": commission_code}, habits)
    cone, form, lines = str(begun["cone"]), str(begun["form"]), str(begun["schedule"])
    planned = schedule_data(schedule_of(lines, f"{kind}, cone {cone}", cone, form, kind)) if lines else None
    named = {"kind": kind, "cone": cone, "form": form, "day": day, "commission_code": commission_code}
    return {**named, "schedule": planned}


def _solved(kind: str, cone: str, form: str, habits: FiringHabits) -> str:
    from wareboard.kiln.schedule import bisque_schedule, glaze_schedule

    try:
        if kind == "bisque":
            return lines_of(bisque_schedule(cone, candle_h=habits.candle, form=form))
        hold = 15.0 if habits.hold is None else habits.hold
        return lines_of(glaze_schedule(cone, hold, habits.slow_cooling, form=form))
    except WareboardError:
        return ""


def _figure(value: Any) -> Any:
    return f"{value:g}" if isinstance(value, float) and abs(value) < 1e5 else value
