"""The course of a commission: what the bench needs of its plan, small enough to be kept and read again in no time.

A plan holds profiles, schedules and searches; the pages of the bench need the ways of its forms, what its kilns hold, who
works when, and the calendar's lines. The course is kept from the day on which the work began: a calendar laid out afresh
every morning would never be behind.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from wareboard import reference
from wareboard.book.boards.legs import Leg, legs_of, pace
from wareboard.plan.overage import StageYield
from wareboard.plan.slug import slug
from wareboard.working import Estimate

if TYPE_CHECKING:
    from wareboard.plan.result import FiringPlan, FormPlan, Plan

EDITION = 2  # of the kept form of a course; one of another edition is worked out anew
WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
FIRED_TO = {
    "bisque": "bisque",
    "glaze": "fired",
}  # the calendar's word for a firing, and the stage that it takes pieces to


@dataclass(frozen=True, slots=True)
class FormCourse:
    """One form: how many, its way, what comes through each stage, what a kiln filled with it holds."""

    name: str
    kind: str
    count: int
    start: int
    ball_g: float
    legs: tuple[Leg, ...]
    yields: tuple[StageYield, ...]
    rooms: Mapping[str, int]  # by the stage that the firing takes it to
    correlation: float  # how far losses come by the load

    @property
    def stages(self) -> tuple[str, ...]:
        """The stages that the form goes through, in order."""
        return tuple(leg.stage for leg in self.legs)

    def minutes_to(self, *stages: str) -> float:
        """Hands-on minutes a piece for these stages together."""
        return sum(leg.minutes for leg in self.legs if leg.stage in stages)


@dataclass(frozen=True, slots=True)
class GlazeCourse:
    """One glaze: which forms it goes on, and whether it is mixed here from a recipe."""

    name: str
    forms: tuple[str, ...]
    mixed: bool

    @property
    def tick(self) -> str:
        """The name under which its mixing is ticked off."""
        return f"mix-{slug(self.name)}"[:80]


@dataclass(frozen=True, slots=True)
class FiringCourse:
    """One kind of firing: its cone and its kiln; ``kilns`` has that of each load as planned, where they differ.

    Courses kept before loads had kilns of their own have none there.
    """

    kind: str
    cone: str
    kiln: str
    load_minutes: float
    kilns: tuple[str, ...] = ()

    def kiln_of(self, load: int) -> str:
        """The kiln of a load, counted from 1; that of the roomiest where none is planned for it."""
        return self.kilns[load - 1] if 0 < load <= len(self.kilns) else self.kiln


@dataclass(frozen=True, slots=True)
class Hands:
    """Whose hands there are: hours by the day of the week from Monday, and days away."""

    name: str
    hours: tuple[float, ...]
    away: tuple[date, ...]

    def hours_on(self, day: date) -> float:
        """Hands-on hours on a day."""
        return 0.0 if day in self.away else self.hours[day.weekday()]


@dataclass(frozen=True, slots=True)
class Line:
    """One piece of work of the calendar: what, which pieces, from when to when, by whom. Times are the workshop's own."""

    key: str
    form: str
    stage: str  # the calendar's word
    kind: str
    start: datetime
    end: datetime
    who: str
    pieces: int


@dataclass(frozen=True, slots=True)
class Course:
    """What the bench needs of a plan. ``hands`` are hands-on hours for each hour of the clock, all people together."""

    due: date
    client: str
    first_day: date | None
    finish: date | None
    chance: float
    hands: float
    deposit: str
    kilns: int
    forms: tuple[FormCourse, ...]
    glazes: tuple[GlazeCourse, ...]
    firings: Mapping[str, FiringCourse]  # by the stage that each takes pieces to
    people: tuple[Hands, ...]
    lines: tuple[Line, ...]
    leans: Mapping[str, str]  # the prints of the learned figures that the plan leant on
    made: date | None = None  # the day on which it was worked out

    def form(self, name: str) -> FormCourse | None:
        return next((form for form in self.forms if form.name == name), None)


def course_of(plan: Plan, made: date | None = None) -> Course:
    """The course of a plan, worked out on the day ``made``."""
    amount = plan.price.deposit
    return Course(
        due=plan.brief.due,
        client=plan.brief.client or "",
        first_day=plan.first_day,
        finish=plan.calendar.finish,
        chance=plan.brief.chance if plan.brief.chance is not None else reference.default("overage.chance").value,
        hands=pace(plan),
        deposit=f"{plan.price.currency} {amount:,.2f}" if amount else "",
        kilns=len(plan.kilns),
        forms=tuple(_form(form, plan) for form in plan.forms),
        glazes=tuple(GlazeCourse(each.glaze.name, tuple(each.forms), bool(each.glaze.recipe)) for each in plan.glazes),
        firings={FIRED_TO[each.kind]: _firing(each) for each in (plan.bisque, plan.glaze_firing)},
        people=tuple(_hands(plan)),
        lines=tuple(_lines(plan)),
        leans=dict(plan.leans),
        made=made,
    )


def _form(form: FormPlan, plan: Plan) -> FormCourse:
    rooms = {FIRED_TO[each.kind]: each.loads.pieces_in_a_load(form.name) for each in (plan.bisque, plan.glaze_firing)}
    return FormCourse(
        form.name,
        form.kind,
        form.form.count,
        form.start,
        form.ball_g,
        legs_of(form, plan),
        form.yields,
        rooms,
        form.overage.correlation,
    )


def _firing(firing: FiringPlan) -> FiringCourse:
    minutes = reference.default(f"minutes.load_{firing.kind}").value
    kilns = tuple(home.kiln.name for home in firing.homes)
    return FiringCourse(firing.kind, firing.cone, firing.kiln.name, minutes, kilns)


def _hands(plan: Plan) -> Iterator[Hands]:
    for person in plan.people:
        hours = tuple(person.hours_per_day or 0.0 if day in person.days else 0.0 for day in WEEK)
        yield Hands(person.name, hours, tuple(person.away))


def _lines(plan: Plan) -> Iterator[Line]:
    """Each task by hand once, from its first part to its last; what only waits is not work."""
    seen: dict[tuple[str, str], list[Any]] = {}
    for entry in plan.calendar.entries:
        if entry.kind != "waiting":
            seen.setdefault((entry.key, entry.kind), []).append(entry)
    for (key, kind), parts in seen.items():
        first, last = parts[0], parts[-1]
        yield Line(key, first.form, first.stage, kind, first.start, last.end, first.who, first.pieces)


def written(course: Course) -> dict[str, Any]:
    """The course as what JSON can hold."""
    plain: dict[str, Any] = _plain(asdict(course))
    return plain | {"edition": EDITION}


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    return value.isoformat() if isinstance(value, date) else value


def read(figures: Mapping[str, Any]) -> Course | None:
    """The course of what `written` gave; None for that of another edition."""
    if figures.get("edition") != EDITION:
        return None
    plain = {name: figures[name] for name in ("client", "chance", "hands", "deposit", "kilns", "leans")}
    return Course(
        due=date.fromisoformat(figures["due"]),
        first_day=_day(figures["first_day"]),
        finish=_day(figures["finish"]),
        made=_day(figures["made"]),
        forms=tuple(_read_form(each) for each in figures["forms"]),
        glazes=tuple(GlazeCourse(each["name"], tuple(each["forms"]), each["mixed"]) for each in figures["glazes"]),
        firings={stage: _read_firing(each) for stage, each in figures["firings"].items()},
        people=tuple(
            Hands(each["name"], tuple(each["hours"]), tuple(date.fromisoformat(day) for day in each["away"]))
            for each in figures["people"]
        ),
        lines=tuple(_read_line(each) for each in figures["lines"]),
        **plain,
    )


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def _read_form(each: Mapping[str, Any]) -> FormCourse:
    legs = tuple(Leg(**(leg | {"wait_h": Estimate(**leg["wait_h"])})) for leg in each["legs"])
    yields = tuple(StageYield(**stage) for stage in each["yields"])
    return FormCourse(**(dict(each) | {"legs": legs, "yields": yields}))


def _read_firing(each: Mapping[str, Any]) -> FiringCourse:
    return FiringCourse(**(dict(each) | {"kilns": tuple(each.get("kilns", ()))}))


def _read_line(each: Mapping[str, Any]) -> Line:
    return Line(
        **(dict(each) | {"start": datetime.fromisoformat(each["start"]), "end": datetime.fromisoformat(each["end"])})
    )
