"""What a kiln has to load with: witness cones on the levels that are wanted, and shelves and posts enough for a load."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from wareboard.plan.assume import Assumer
from wareboard.plan.equipment import prices_of
from wareboard.plan.kiln_words import posts_of
from wareboard.plan.result import FiringPlan, Home, Notice, Plan
from wareboard.plan.workshop import Kiln
from wareboard.reference import default
from wareboard.working import Estimate

if TYPE_CHECKING:
    from wareboard.kiln.inside import Load

Held = tuple[FiringPlan, Home]  # the firings of one kind in a kiln whose loads its own shelves and posts change


def packs_on(load: Load, levels: Sequence[str]) -> Load:
    """The load with witness cones on the wanted levels alone; nothing or "every" leaves them on all.

    Of an even number of levels the lower of the two in the middle is the middle one.
    """
    if not levels or "every" in levels:
        return load
    columns = {layout.half: max(each.level for each in load if each.half == layout.half) for layout in load}
    return tuple(
        layout if _named(layout.level, columns[layout.half]) & set(levels) else replace(layout, cone_packs=())
        for layout in load
    )


def _named(level: int, top: int) -> set[str]:
    found = {"bottom": 0, "middle": top // 2, "top": top}
    return {name for name, at in found.items() if at == level}


def stock_notices(plan: Plan) -> Iterator[Notice]:
    """What it costs to stay within the shelves and posts of the kilns' file; or what is short where that cannot be."""
    kept: dict[str, list[Held]] = {}
    for firing in (plan.bisque, plan.glaze_firing):
        within = {home.kiln.name: home for home in _homes(firing) if home.unstocked}
        for name, home in within.items():
            kept.setdefault(name, []).append((firing, home))
        for (name, what), (needed, owned, number) in _worst(firing).items():
            if name in within:
                continue
            yield Notice(
                f"{firing.kind.capitalize()} load {number} in {name} wants {needed} {what}, and there are {owned}",
                "the workshop's file counts what the kiln has",
                f"Find {needed - owned} more, or arrange the load by hand on what there is",
                "mind",
                f"{firing.kind} firing",
            )
    for firings in kept.values():
        yield _kept_within(plan, firings)


def _homes(firing: FiringPlan) -> list[Home]:
    """Each kiln that has loads of the firing, once."""
    return list({home.kiln.name: home for home in map(firing.home, range(1, firing.firings + 1))}.values())


def _kept_within(plan: Plan, firings: Sequence[Held]) -> Notice:
    """Loads of one kiln planned within its stock: what they take more than with enough, and which way out costs less.

    What is bought serves bisque and glaze alike, so that both are counted together.
    """
    first, kiln = firings[0][0], firings[0][1].kiln
    missing = _missing(kiln, [load for _, home in firings for load in home.unstocked])
    short = " and ".join(f"{count} more {what if count > 1 else _one(what)}" for what, count in missing)
    more = {firing.kind: _loads_in(firing, home) - len(home.unstocked) for firing, home in firings}
    about = f"{first.kind} firing"
    if max(more.values()) <= 0:
        what = f"Loads in {kiln.name} stand on what shelves and posts there are"
        why = f"with {short or 'others'} each shelf would stand as low as it can"
        return Notice(what, why, "Nothing needs doing", "note", about)
    buying, firing_costs = (
        _price(missing),
        sum(more[each.kind] * _money_of_one(plan, each.kind, home) for each, home in firings),
    )
    currency = prices_of(plan.brief, plan.workshop, Assumer()).currency or ""
    counts = "; ".join(
        f"{_loads_in(each, home)} {each.kind} firings, where {len(home.unstocked)} would do"
        for each, home in firings
        if more[each.kind] > 0
    )
    return Notice(
        f"Loads in {kiln.name} are kept within its shelves and posts: {counts}",
        f"{short} would be needed, some {buying.value:.0f} {currency} to buy ({buying.low:.0f} to {buying.high:.0f}, usual "
        f"prices); firing more often costs some {firing_costs:.2f} {currency}",
        "Firing more often costs less for this commission alone"
        if firing_costs <= buying.value
        else "Buying them costs less, and they stay",
        "mind",
        about,
    )


def _loads_in(firing: FiringPlan, home: Home) -> int:
    return sum(firing.home(number).kiln.name == home.kiln.name for number in range(1, firing.firings + 1))


def _one(what: str) -> str:
    return what.replace("shelves", "shelf").replace("posts", "post")


def _missing(kiln: Kiln, loads: Sequence[Load]) -> list[tuple[str, int]]:
    """What the loads want over what there is, the most of any of them."""
    found: dict[str, int] = {}
    for load in loads:
        for what, needed, owned in (*_shelves(kiln, load), *_posts(kiln, load)):
            if needed > owned:
                found[what] = max(found.get(what, 0), needed - owned)
    return list(found.items())


def _price(missing: Sequence[tuple[str, int]]) -> Estimate:
    """What these cost to buy, at usual prices."""
    each = [
        (count, default("kiln.post_price" if what.startswith("posts") else "kiln.shelf_price"))
        for what, count in missing
    ]
    value, low, high = (sum(count * getattr(figure, end) for count, figure in each) for end in ("value", "low", "high"))
    return Estimate(value, low, high, "from-memory")


def _money_of_one(plan: Plan, kind: str, home: Home) -> float:
    """Energy, wear and hands of one firing in a kiln, in the commission's money."""
    assume = Assumer(plan.own)
    prices = prices_of(plan.brief, plan.workshop, assume)
    minutes = assume.figure(f"minutes.load_{kind}").value + assume.figure("minutes.unload").value
    hands = minutes / 60.0 * float(prices.wage_per_hour or 0)
    return home.energy.kwh * float(prices.energy_per_kwh or 0) + float(home.kiln.wear_per_firing or 0) + hands


def _worst(firing: FiringPlan) -> dict[tuple[str, str], tuple[int, int, int]]:
    worst: dict[tuple[str, str], tuple[int, int, int]] = {}
    for number, load in enumerate(firing.loads.loads, 1):
        kiln = firing.home(number).kiln
        for what, needed, owned in (*_shelves(kiln, load), *_posts(kiln, load)):
            if needed > max(owned, worst.get((kiln.name, what), (0, 0, 0))[0]):
                worst[kiln.name, what] = (needed, owned, number)
    return worst


def _shelves(kiln: Kiln, load: Load) -> Iterator[tuple[str, int, int]]:
    """What is wanted, how many, and how many there are; two half shelves do for a whole one."""
    if kiln.shape == "half-round":
        if kiln.half_shelves is not None:
            yield "half shelves", len(load), kiln.half_shelves
    elif kiln.shelves is not None:
        yield "shelves", len(load), kiln.shelves + (kiln.half_shelves or 0) // 2


def _posts(kiln: Kiln, load: Load) -> Iterator[tuple[str, int, int]]:
    """Posts by length, three under every shelf but the lowest; a height that no one post has is made of two."""
    from wareboard.kiln.stock import POSTS_UNDER_A_SHELF

    if not kiln.posts_owned:
        return
    owned: Counter[float] = Counter()
    for count, long_mm in map(posts_of, kiln.posts_owned):
        owned[long_mm] += count
    wanted: Counter[float] = Counter()
    for layout in load:
        for length in _made_of(layout.post_mm, list(owned)):
            wanted[length] += POSTS_UNDER_A_SHELF
    for length, needed in sorted(wanted.items()):
        yield f"posts of {length:.0f} mm", needed, owned[length]


def _made_of(post_mm: float, lengths: Sequence[float]) -> tuple[float, ...]:
    from wareboard.kiln.stock import SAME_LENGTH_MM, post_ways

    if post_mm <= 0.0 or math.isinf(post_mm):
        return ()
    return next((way for height, way in post_ways(lengths) if abs(height - post_mm) < SAME_LENGTH_MM), ())
