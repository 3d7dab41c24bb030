"""The workshop's rules for painting from a file that a person keeps: TOML text in, rules out, all mistakes told at once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping

from wareboard.errors import OutOfRange, Problems, Unreadable, WareboardError
from wareboard.paint.order import COMMON, Before, KeptOff, NeverOver, Rule

KINDS = (("first", "then"), ("never", "over"), ("keep", "off", "mm"))
MEND = 'Write first and then, or never and over, or keep, off ("rim" or "foot") and mm; and why, if wanted'


def read_rules(text: str) -> tuple[Rule, ...]:
    """The rules of a file, in its order.

    Each ``[[rule]]`` is one of: ``first`` and ``then``; ``never`` and ``over``; ``keep``, ``off`` ("rim" or "foot") and
    ``mm``. ``why`` goes with any.

    Raises:
        Unreadable: if it is no TOML.
        Problems: with one error for each rule that is none.
    """
    try:
        held = tomllib.loads(text.lstrip("\ufeff"))
    except tomllib.TOMLDecodeError as exc:
        raise Unreadable("the file of rules", f"it is no TOML: {exc}", "Mend that line") from None
    given = held.get("rule", [])
    if not isinstance(given, list) or not all(isinstance(each, dict) for each in given):
        raise Unreadable("the file of rules", "its rules are no [[rule]]", "Begin each rule with a line [[rule]]")
    found: list[Rule] = []
    problems: list[WareboardError] = []
    for place, row in enumerate(given, start=1):
        try:
            found.append(_rule(row))
        except WareboardError as exc:
            exc.where = f"rule {place}"
            problems.append(exc)
    if problems:
        raise Problems(problems, "The rules could not be read")
    return tuple(found)


def _rule(row: Mapping[str, object]) -> Rule:
    keys = set(row) - {"why"}
    why = str(row.get("why") or COMMON)
    if keys == {"first", "then"}:
        return Before(str(row["first"]), str(row["then"]), why)
    if keys == {"never", "over"}:
        return NeverOver(str(row["never"]), str(row["over"]), why)
    if keys == {"keep", "off", "mm"}:
        mm = row["mm"]
        if isinstance(mm, bool) or not isinstance(mm, int | float):
            raise OutOfRange(f"mm is {mm!r}", "it is no number", "Write mm = 6")
        return KeptOff(str(row["keep"]), str(row["off"]), float(mm), why)
    raise Unreadable(", ".join(sorted(keys)) or "an empty rule", "no rule is made of that", MEND)
