"""Learned figures as the pages show them: in their units, with where each record stands and what is worth recording next."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.urls import NoReverseMatch, reverse

from wareboard.book.learning.figures import GROUPS, Figure, Group, Seen
from wareboard.quantities import show_share
from wareboard.studio.words import capital, figure_in_unit

TO_RECORD: dict[Group, str] = {
    "shrinkage": "Measure a bar or a piece between the same two marks, wet and fired, and write both in the brief, or where "
    "pieces are measured. Name the clay, or nobody knows whose shrinkage it is.",
    "losses": "Move boards on at the bench and tap losses with their stage. A board counts once all its pieces went on, "
    "from the next morning.",
    "minutes": "Move one board after the other at the bench under your own name, or write a sitting down below.",
    "drying": "Weigh one piece of a board as thrown and twice more while it dries, always the same piece.",
    "glaze": "Weigh a few pieces before and after the dip, on the bucket’s page.",
    "kiln": "Read the meter before and after a firing and write both with the firing; take the logger’s file in beside its "
    "schedule. How each level differs from its thermocouple stands on the kiln’s own page.",
    "price": "Finish a job whose boards, times and firings were recorded.",
}
PAGES = {
    "board": "bench-board",
    "bucket": "glaze-bucket",
    "commission": "answers",
}
WORTH_SAYING = 0.005


@dataclass(frozen=True, slots=True)
class Shown:
    """A figure in words: value, range, the usual one, whose it is."""

    figure: Figure
    value: str
    spread: str
    usual: str
    usual_spread: str
    whose: str

    @property
    def title(self) -> str:
        return capital(self.figure.name)


@dataclass(frozen=True, slots=True)
class Record:
    """A record in words, with the page it stands on."""

    seen: Seen
    value: str
    address: str
    weight: str


def shown(figure: Figure) -> Shown:
    """A figure in its unit."""

    def words(value: float) -> str:
        return figure_in_unit(value, figure.unit, figure.key)

    mean, before, own = figure.learned.mean, figure.prior, figure.own()
    whose = "still the usual figure" if own is None else "yours" if own.is_yours else "mostly the usual figure yet"
    return Shown(
        figure, words(mean.value), f"{words(mean.low)} to {words(mean.high)}", words(before.value),
        f"{words(before.low)} to {words(before.high)}", whose,
    )  # fmt: skip


def records(figure: Figure) -> list[Record]:
    """Every record of a figure, newest first."""
    return [
        Record(each, figure_in_unit(each.value, figure.unit, figure.key), address_of(each), show_share(each.weight))
        for each in figure.seen
    ]


def address_of(seen: Seen) -> str:
    """The page on which a record stands; empty where it has none of its own."""
    kind, code = seen.at
    try:
        if kind == "firing":
            slug, _, number = code.rpartition("/")
            return reverse("firing", args=[slug, int(number)])
        if kind == "time":
            return f"{reverse('learned-times')}#time-{code}"
        return reverse(PAGES[kind], args=[int(code) if kind == "bucket" else code]) if kind in PAGES else ""
    except (NoReverseMatch, ValueError):
        return ""


@dataclass(frozen=True, slots=True)
class GroupShown:
    """One kind of figure: its name, those there are, and what to record for more."""

    key: Group
    name: str
    figures: Sequence[Shown]
    to_record: str


def grouped(figures: Iterable[Figure]) -> list[GroupShown]:
    """Every kind of figure in its order, those without a record with what to record."""
    found = list(figures)
    return [
        GroupShown(key, name, [shown(each) for each in found if each.group == key], TO_RECORD[key])
        for key, name in GROUPS.items()
    ]
