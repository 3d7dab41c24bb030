"""What a kiln has to load with: witness cones on the levels that are wanted, and shelves and posts enough for a load."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from wareboard.plan.kiln_words import posts_of
from wareboard.plan.result import FiringPlan, Notice
from wareboard.plan.workshop import Kiln

if TYPE_CHECKING:
    from wareboard.kiln.inside import Load

POSTS_UNDER_A_SHELF = 3
SAME_LENGTH_MM = 0.5


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


def stock_notices(firing: FiringPlan) -> Iterator[Notice]:
    """Loads that want more shelves or posts than their kiln's file says there are, the worst of each told once."""
    worst: dict[tuple[str, str], tuple[int, int, int]] = {}
    for number, load in enumerate(firing.loads.loads, 1):
        kiln = firing.home(number).kiln
        for what, needed, owned in (*_shelves(kiln, load), *_posts(kiln, load)):
            if needed > max(owned, worst.get((kiln.name, what), (0, 0, 0))[0]):
                worst[kiln.name, what] = (needed, owned, number)
    for (name, what), (needed, owned, number) in worst.items():
        yield Notice(
            f"{firing.kind.capitalize()} load {number} in {name} wants {needed} {what}, and there are {owned}",
            "the workshop's file counts what the kiln has",
            f"Find {needed - owned} more, or arrange the load by hand on what there is",
            "mind",
            f"{firing.kind} firing",
        )


def _shelves(kiln: Kiln, load: Load) -> Iterator[tuple[str, int, int]]:
    """What is wanted, how many, and how many there are; two half shelves do for a whole one."""
    if kiln.shape == "half-round":
        if kiln.half_shelves is not None:
            yield "half shelves", len(load), kiln.half_shelves
    elif kiln.shelves is not None:
        yield "shelves", len(load), kiln.shelves + (kiln.half_shelves or 0) // 2


def _posts(kiln: Kiln, load: Load) -> Iterator[tuple[str, int, int]]:
    """Posts by length, three under every shelf but the lowest; a height that no one post has is made of two."""
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
    if post_mm <= 0.0 or math.isinf(post_mm):
        return ()
    one = [length for length in lengths if abs(length - post_mm) < SAME_LENGTH_MM]
    pairs = ((a, b) for a in lengths for b in lengths if abs(a + b - post_mm) < SAME_LENGTH_MM)
    return (one[0],) if one else next(pairs, ())
