"""Which kiln each load is fired in: so many loads in one kiln and the rest in another, at the least money."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from wareboard.errors import OutOfRange
from wareboard.plan.assume import Assumer
from wareboard.plan.equipment import alike
from wareboard.plan.firings import KindOfFiring, firing_plan, load_piece
from wareboard.plan.result import FiringPlan, FormPlan, Home
from wareboard.plan.workshop import Firing, Kiln, Prices
from wareboard.working import Step

if TYPE_CHECKING:
    from wareboard.kiln.inside import KilnInside, LoadPiece

MOST_MOVED = 6  # loads fewer that are tried; past that none are left
NO_LESS = "firings that no plan can do without"


def firings_in(
    kind: KindOfFiring,
    forms: Sequence[FormPlan],
    kilns: Sequence[Kiln],
    firing: Firing,
    prices: Prices,
    assume: Assumer,
    seconds: float = 0.0,
) -> FiringPlan:
    """All firings of one kind, over all kilns that get hot enough: the last loads go to another kiln where that costs less.

    What a load costs is its energy, the kiln's wear, and the hands that load and unload it; between equals, fewer loads.
    Kilns that are alike count as one here: the calendar takes whichever is free.

    Raises:
        OutOfRange: naming the form, where a piece goes into none of the kilns.
    """
    able = [kiln for kiln in roomiest_first(kilns) if hot_enough(kiln, kind, firing)] or list(roomiest_first(kilns))
    able = able[:1] if alike(tuple(able)) else able
    main = _first_that_holds(kind, forms, able, firing, assume, seconds)
    found = [main]
    for other in able:
        if other != main.kiln:
            found += _shared(kind, forms, main, other, firing, assume, seconds)
    return min(found, key=lambda each: (_cost(each, prices, assume), each.firings))


def roomiest_first(kilns: Sequence[Kiln]) -> tuple[Kiln, ...]:
    """The kilns with most room for shelves first."""

    def room(kiln: Kiln) -> float:
        across = kiln.shelf_diameter or 0.0
        area = across * across * 0.785 or (kiln.shelf_width or 0.0) * (kiln.shelf_depth or 0.0)
        return area * (kiln.usable_height or 0.0)

    return tuple(sorted(kilns, key=room, reverse=True))


def hot_enough(kiln: Kiln, kind: KindOfFiring, firing: Firing) -> bool:
    """Whether the kiln may be fired to the cone of that kind: by its hottest cone, and by degrees at 60 °C an hour."""
    from wareboard.kiln.chart import cone_order
    from wareboard.kiln.cone import reading

    cone = (firing.bisque_cone if kind == "bisque" else firing.glaze_cone) or ""
    if kiln.hottest_cone is not None and cone_order(cone) > cone_order(kiln.hottest_cone):
        return False
    return kiln.hottest is None or reading(cone, 60.0, firing.cone_form).temp_c <= kiln.hottest


def _first_that_holds(
    kind: KindOfFiring, forms: Sequence[FormPlan], able: Sequence[Kiln], firing: Firing, assume: Assumer, seconds: float
) -> FiringPlan:
    """The firings in the roomiest kiln that takes every piece."""
    problem: OutOfRange | None = None
    for kiln in able:
        try:
            return firing_plan(kind, forms, kiln, firing, assume, seconds)
        except OutOfRange as met:
            problem = problem or met
    assert problem is not None
    raise problem


def _shared(
    kind: KindOfFiring,
    forms: Sequence[FormPlan],
    main: FiringPlan,
    other: Kiln,
    firing: Firing,
    assume: Assumer,
    seconds: float,
) -> Iterator[FiringPlan]:
    """The plan with one load fewer in its kiln, two fewer and so on, and with none: what is left goes in the other."""
    pieces = [load_piece(form, kind) for form in forms]
    for kept in [*range(main.firings - 1, max(0, main.firings - 1 - MOST_MOVED), -1), 0]:
        stay, go = _parted(pieces, main, kept)
        try:
            there = firing_plan(kind, forms, other, firing, assume, seconds, go)
        except OutOfRange:
            continue  # one of the pieces does not go in there
        if not kept:
            yield there
            continue
        here = firing_plan(kind, forms, main.kiln, firing, assume, seconds, stay)
        yield _joined(main, here, there)


def _parted(pieces: Sequence[LoadPiece], main: FiringPlan, kept: int) -> tuple[list[LoadPiece], list[LoadPiece]]:
    """The fewest pieces taken away, the narrowest form first, that leave no more than ``kept`` loads; the rest first."""
    from wareboard.kiln.load import plan_loads

    order = sorted(pieces, key=lambda piece: piece.turning_diameter_mm)
    whole = sum(piece.count for piece in order)
    if not kept:
        return [], list(order)
    low, high = 1, whole - 1  # one short of all of them: what stays is a load at least
    while low < high:
        half = (low + high) // 2
        stay, _ = _taken(order, half)
        if plan_loads(stay, main.inside, main.kind, gap_mm=main.loads.gap_mm).firings <= kept:
            high = half
        else:
            low = half + 1
    return _taken(order, low)


def _taken(order: Sequence[LoadPiece], away: int) -> tuple[list[LoadPiece], list[LoadPiece]]:
    stay, go = [], []
    for piece in order:
        gone = min(piece.count, away)
        away -= gone
        stay += [replace(piece, count=piece.count - gone)] if piece.count > gone else []
        go += [replace(piece, count=gone)] if gone else []
    return stay, go


def _joined(main: FiringPlan, here: FiringPlan, there: FiringPlan) -> FiringPlan:
    """The loads that stay and those in the other kiln, with the working of the sum."""
    kept = here.firings
    firings = kept + there.firings
    bound = main.loads.bound_firings if _holds_all_of(main.inside, there.inside) else 1
    loads = replace(
        main.loads,
        loads=(*here.loads.loads, *there.loads.loads),
        firings=firings,
        bound_firings=min(bound, firings),
        unstocked=here.loads.unstocked,
    )
    both = Step(
        f"{main.kind} firings",
        "here + there",
        {"here": float(kept), "there": float(there.firings)},
        float(firings),
        "derived",
        "firings",
        how=f"{kept} in {main.kiln.name}, {there.firings} in {there.kiln.name}, which costs least",
    )
    energy = Step(
        f"energy of all {main.kind} firings",
        "one_here * here + one_there * there",
        {
            "one_here": here.energy.kwh,
            "here": float(kept),
            "one_there": there.energy.kwh,
            "there": float(there.firings),
        },
        here.energy.kwh * kept + there.energy.kwh * there.firings,
        here.energy.steps[-1].source,
        "kWh",
        here.energy.low * kept + there.energy.low * there.firings,
        here.energy.high * kept + there.energy.high * there.firings,
    )
    replaced = {both.name: both, energy.name: energy}
    if bound == 1:
        inputs = {"least": 1.0}
        why = "neither kiln holds all that the other does, so that no more is proved"
        replaced[NO_LESS] = Step(NO_LESS, "least", inputs, 1.0, "derived", "firings", how=why)
    start = main.steps.index(
        main.energy.steps[0]
    )  # another load may have other lines, as where it holds no cooling back
    after = main.steps[start + len(main.energy.steps) :]
    steps = tuple(replaced.get(step.name, step) for step in (*main.steps[:start], *here.energy.steps, *after))
    homes = (*(Home.of(here),) * kept, *(Home.of(there),) * there.firings)
    return replace(main, loads=loads, steps=steps, homes=homes, energy=here.energy)


def _holds_all_of(one: KilnInside, other: KilnInside) -> bool:
    """Whether any load of the other kiln would stand in this one too, so that what is proved here holds for both."""
    from wareboard.kiln.shelf import RectangularShelf, RoundShelf

    if one.stock is not None and one.stock != other.stock:
        return False  # what is proved by the shelves of one is not proved of the other
    if one.halves or other.halves or set(other.post_lengths_mm) - set(one.post_lengths_mm):
        return False
    tall = one.height_for_shelves_mm >= other.height_for_shelves_mm and one.top_gap_mm <= other.top_gap_mm
    thin = one.shelf.thickness_mm <= other.shelf.thickness_mm and one.wall_gap_mm <= other.wall_gap_mm
    if isinstance(one.shelf, RoundShelf) and isinstance(other.shelf, RoundShelf):
        return tall and thin and one.shelf.diameter_mm >= other.shelf.diameter_mm
    if isinstance(one.shelf, RectangularShelf) and isinstance(other.shelf, RectangularShelf):
        wider = one.shelf.width_mm >= other.shelf.width_mm and one.shelf.depth_mm >= other.shelf.depth_mm
        return tall and thin and wider
    return False


def _cost(plan: FiringPlan, prices: Prices, assume: Assumer) -> float:
    """Energy, wear and hands of all loads, in the workshop's money, to the cent."""
    minutes = assume.figure(f"minutes.load_{plan.kind}").value + assume.figure("minutes.unload").value
    hands = minutes / 60.0 * float(prices.wage_per_hour or 0)
    per_kwh = float(prices.energy_per_kwh or 0)
    each = (
        home.energy.kwh * per_kwh + float(home.kiln.wear_per_firing or 0) + hands
        for home in map(plan.home, range(1, plan.firings + 1))
    )
    return round(sum(each), 2)
