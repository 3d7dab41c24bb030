"""The workshop's rules for painting as lines of plain words: a rule a line, as the rules speak of themselves."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from wareboard.errors import Problems, Unreadable, WareboardError
from wareboard.paint.order import COMMON, Before, KeptOff, NeverOver, Rule
from wareboard.paint.tiles import Tile

MEND = (
    'Write "honey before black", "honey never over sky" or "sky kept 6 mm off the foot", and (why) behind it if wanted'
)
WHY = re.compile(r"^(?P<rule>.*?)\s*(?:\((?P<why>[^()]*)\))?\s*$")
OFF = re.compile(r"^(?P<glaze>.+?) kept (?P<far>.+?) off (?:the )?(?P<part>\w+)$", re.IGNORECASE)


def rules_in_lines(text: str, length_mm: Callable[[str], float]) -> tuple[Rule, ...]:
    """The rules of some lines, in their order; empty lines are passed over.

    A line is one of: ``A before B``, ``A never over B``, ``A kept 6 mm off the rim`` (or foot), A and B glazes by
    their names; why may follow in brackets.

    Args:
        length_mm: reads a length as people write it, such as "6 mm".
    Raises:
        Problems: with one error for each line that is no rule.
    """
    found: list[Rule] = []
    problems: list[WareboardError] = []
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        try:
            found.append(_rule(" ".join(line.split()), length_mm))
        except WareboardError as problem:
            problem.where = f"rule in line {number}"
            problems.append(problem)
    if problems:
        raise Problems(problems, "The rules could not be read")
    return tuple(found)


def as_lines(rules: tuple[Rule, ...]) -> str:
    """Rules as `rules_in_lines` reads them."""
    return "\n".join(rule.words.removesuffix(f" ({COMMON})") for rule in rules)


def unknown_glazes(rules: Iterable[Rule], tiles: Iterable[Tile]) -> tuple[str, ...]:
    """A note for each glaze that a rule names and no tile has: misspelt, or not in use."""
    known = {layer.glaze for tile in tiles for layer in tile.layers}
    return tuple(
        f'no tile has the glaze "{glaze}" of the rule: {rule.words}'
        for rule in rules
        for glaze in _glazes(rule)
        if glaze not in known
    )


def _glazes(rule: Rule) -> tuple[str, ...]:
    if isinstance(rule, Before):
        return rule.first, rule.then
    return (rule.upper, rule.lower) if isinstance(rule, NeverOver) else (rule.glaze,)


def _rule(line: str, length_mm: Callable[[str], float]) -> Rule:
    parted = WHY.match(line)
    rule, why = (parted["rule"], parted["why"] or COMMON) if parted else (line, COMMON)
    off = OFF.match(rule)
    if off:
        return KeptOff(off["glaze"], off["part"].lower(), length_mm(off["far"]), why)
    for between, kind in ((" never over ", NeverOver), (" before ", Before)):
        glazes = [part.strip() for part in re.split(between, rule, flags=re.IGNORECASE)]
        if len(glazes) == 2 and all(glazes):
            return kind(glazes[0], glazes[1], why)
    raise Unreadable(f'"{line[:80]}"', "no rule is made of that", MEND)
