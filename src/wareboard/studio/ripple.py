"""The ripple of a change: every figure of the plan before and after, with the difference, the telling ones first."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from wareboard.plan.noticing import standing
from wareboard.plan.result import slug
from wareboard.studio import words
from wareboard.working import MINUS

if TYPE_CHECKING:
    from wareboard.plan.result import FormPlan, Plan

Value = float | date | None
SAME = 1e-9
MOST_OTHERS = 300


@dataclass(frozen=True, slots=True)
class Change:
    """One figure before and after, as shown; ``way`` is up or down for the eye, never alone."""

    name: str
    before: str
    after: str
    difference: str = ""
    way: str = ""


@dataclass(frozen=True, slots=True)
class ChangeGroup:
    """Changes that belong together: one form, the clay, the calendar."""

    name: str
    rows: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class Ripple:
    """All that a change changes."""

    groups: tuple[ChangeGroup, ...]
    others: tuple[Change, ...]
    words: tuple[str, ...]

    @property
    def nothing(self) -> bool:
        return not (self.groups or self.others or self.words)


@dataclass(frozen=True, slots=True)
class _Figure:
    group: str
    name: str
    value: Value
    show: Callable[[Value], str]


def ripple(before: Plan | None, after: Plan) -> Ripple:
    """What changes from one plan to another; with no plan before, what there is now."""
    old = {(figure.group, figure.name): figure for figure in (_figures(before) if before else ())}
    new = {(figure.group, figure.name): figure for figure in _figures(after)}
    found: dict[str, list[Change]] = {}
    for key in [*new, *(key for key in old if key not in new)]:
        change = _change(old.get(key), new.get(key))
        if change is not None:
            found.setdefault(key[0], []).append(change)
    groups = tuple(ChangeGroup(name, tuple(rows)) for name, rows in found.items())
    return Ripple(groups, tuple(_others(before, after)), tuple(_in_words(before, after)))


def _figures(plan: Plan) -> Iterator[_Figure]:
    lengths = plan.length_unit
    for form in plan.forms:
        yield from _of_form(form, lengths)
    yield _Figure("Clay", "to weigh out", plan.clay.bags.clay_g, _in("g"))
    yield _Figure("Clay", "bags", float(plan.clay.bags.bags), _in(""))
    for glaze in plan.glazes:
        yield _Figure("Glazes, dry", glaze.glaze.name, glaze.need.dry_g, _in("g"))
    yield _Figure("Loads", "bisque", float(plan.bisque.firings), _in(""))
    yield _Figure("Loads", "glaze", float(plan.glaze_firing.firings), _in(""))
    calendar = plan.calendar
    yield _Figure("Dates", "all done", calendar.finish, _as_day)
    yield _Figure(
        "Dates", "days to spare", None if calendar.slack_days is None else float(calendar.slack_days), _in("")
    )
    yield _Figure("Dates", "wanted by", calendar.due, _as_day)
    yield _Figure("Dates", "begin at the latest", calendar.latest_start, _as_day)
    price = plan.price
    for priced in price.forms:
        yield _Figure("Price", f"one {priced.name}", float(priced.price_each), _in(price.currency))
    yield _Figure("Price", "quote", float(price.quote), _in(price.currency))
    yield _Figure("Price", "deposit", float(price.deposit), _in(price.currency))


def _of_form(form: FormPlan, lengths: str) -> Iterator[_Figure]:
    for name, length in form.lengths.items():
        yield _Figure(form.name, f"{name}, wet", length.wet_mm, _in("mm", lengths))
    yield _Figure(form.name, "ball", form.ball_g, _in("g"))
    yield _Figure(form.name, "handle blank", form.handle_blank_g, _in("g"))
    yield _Figure(form.name, "ball for the lid", form.lid_ball_g, _in("g"))
    yield _Figure(form.name, "to start", float(form.start), _in(""))
    yield _Figure(form.name, "holds", form.vessel.capacity_ml, _in("ml"))


def _in(unit: str, lengths: str = "mm") -> Callable[[Value], str]:
    def show(value: Value) -> str:
        return words.with_unit(value, unit, lengths) if isinstance(value, float) else "none"

    return show


def _rounded(shown: str) -> str:
    """A difference without the decimals that the two figures beside it do not show either: "16.1 ml" is "16 ml"."""
    number, _, rest = shown.partition(" ")
    if rest in ("g", "ml") and "." in number and float(number) >= 1:
        return f"{float(number):.0f} {rest}"
    return shown


def _as_day(value: Value) -> str:
    return words.day(value) if isinstance(value, date) else "none"


def _change(old: _Figure | None, new: _Figure | None) -> Change | None:
    before, after = old.value if old else None, new.value if new else None
    figure = new or old
    if figure is None or before == after:
        return None
    shown = (
        old.show(before) if old and before is not None else "none",
        figure.show(after) if after is not None else "none",
    )
    if shown[0] == shown[1]:  # a change too small for the trade's rounding is left to the full list
        return None
    difference, way = "", ""
    if isinstance(before, float) and isinstance(after, float):
        apart = after - before
        difference = f"{'+' if apart > 0 else MINUS}{_rounded(figure.show(abs(apart)))}"
        way = "up" if apart > 0 else "down"
    elif isinstance(before, date) and isinstance(after, date):
        days = (after - before).days
        difference = f"{words.in_days(abs(days))} {'later' if days > 0 else 'sooner'}"
        way = "up" if days > 0 else "down"
    return Change(figure.name, *shown, difference, way)


def _others(before: Plan | None, after: Plan) -> Iterator[Change]:
    """Every other step whose value moved."""
    old = {step.key: step for step in before.all_steps()} if before else {}
    told = 0
    for step in after.all_steps():
        was = old.get(step.key)
        if was is None or abs(step.value - was.value) <= SAME * max(abs(step.value), abs(was.value)):
            continue
        told += 1
        if told > MOST_OTHERS:
            return
        shown = [f"{words.exact(each.value)} {each.unit}".strip() for each in (was, step)]
        yield Change(f"{_place(after, step.key)}: {step.name}", *shown)


def _place(plan: Plan, key: str) -> str:
    part, _, rest = key.partition(".")
    for name in (form.name for form in plan.forms):
        if part == "forms" and rest.startswith(f"{slug(name)}."):
            return name
    for name in (glaze.glaze.name for glaze in plan.glazes):
        if part == "glazes" and rest.startswith(f"{slug(name)}."):
            return name
    return part.replace("-", " ")


def _in_words(before: Plan | None, after: Plan) -> Iterator[str]:
    now = standing(after)
    if before is None:
        yield f"The brief as it stood could not be planned; now it can: {words.STATE_WORDS[now].lower()}."
        return
    was = standing(before)
    if was != now:
        yield f"The date was {words.STATE_WORDS[was].lower()}; now it is {words.STATE_WORDS[now].lower()}."
    told = {notice.what for notice in before.notices}
    for notice in after.notices:
        if notice.weight in ("stop", "mind") and notice.what not in told and notice.about != "calendar":
            yield f"{notice.what}: {notice.why}."
