"""Loads and batches numbered in the order in which they come, whatever order the search happened to name them in.

Batches of one form are alike, and so, very nearly, are loads; a search may well begin with "batch 3". A person counts from
the one that comes first.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from wareboard.plan.calendar import Calendar
from wareboard.plan.result import FiringPlan

NUMBERED = re.compile(r"^(?P<stem>.+)-(?P<number>\d+)(?P<rest>(?:\.[a-z]+)?)$")


def in_order(calendar: Calendar) -> tuple[Calendar, Mapping[str, tuple[int, ...]]]:
    """The calendar with its batches and loads numbered as they begin, and for each stem the old numbers in that order."""
    began: dict[str, dict[int, object]] = {}
    for entry in sorted(calendar.entries, key=lambda entry: entry.start):
        found = NUMBERED.match(entry.key)
        if found:
            began.setdefault(found["stem"], {}).setdefault(int(found["number"]), entry.start)
    orders = {stem: tuple(numbers) for stem, numbers in began.items()}
    entries = []
    for entry in calendar.entries:
        found = NUMBERED.match(entry.key)
        if found is None:
            entries.append(entry)
            continue
        new = orders[found["stem"]].index(int(found["number"])) + 1
        name = re.sub(rf"\b(load|batch) {found['number']} of\b", rf"\g<1> {new} of", entry.name)
        entries.append(replace(entry, key=f"{found['stem']}-{new}{found['rest']}", name=name))
    return replace(calendar, entries=tuple(entries)), orders


def reordered(firing: FiringPlan, orders: Mapping[str, tuple[int, ...]]) -> FiringPlan:
    """The firing's loads put in the order in which the calendar fires them."""
    order = orders.get(f"{firing.kind}-load")
    if order is None or len(order) != firing.firings:
        return firing
    loads = tuple(firing.loads.loads[number - 1] for number in order)
    homes = tuple(firing.homes[number - 1] for number in order) if firing.homes else ()
    return replace(firing, loads=replace(firing.loads, loads=loads), homes=homes)
