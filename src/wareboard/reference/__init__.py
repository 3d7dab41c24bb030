"""Published tables and the trade's usual figures, shipped as plain files with a source on every row.

``rows("kiln/cones")`` opens ``reference/kiln/cones.csv`` once and hands on frozen rows of text, as printed.
``default("shrinkage_total")`` is one of the figures used where the potter has given none: its range and its source come
with it, and every result that leans on it says so.
"""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from types import MappingProxyType

from wareboard.errors import NotInTable
from wareboard.working import Estimate

WORDS_FOR_SOURCES = MappingProxyType(
    {
        "common-practice": "common practice in the trade, no published source found",
        "from-memory": "from memory, to be checked before it is leaned on",
        "definition": "by definition",
        "derived": "worked out from the other figures shown",
    }
)


@dataclass(frozen=True, slots=True)
class Source:
    """Where a figure was read."""

    key: str
    title: str
    author: str = ""
    year: str = ""
    where: str = ""

    def __str__(self) -> str:
        return ", ".join(part for part in (self.author, self.title, self.year, self.where) if part)


@dataclass(frozen=True, slots=True)
class Default:
    """A figure used when none was given: value, usual range (both in ``unit``), source key and a word on it."""

    key: str
    value: float
    low: float
    high: float
    unit: str
    source: str
    label: str

    @property
    def estimate(self) -> Estimate:
        return Estimate(self.value, self.low, self.high, f"default: {self.source}")


def _folder() -> Traversable:
    return files("wareboard.reference")


@cache
def rows(table: str) -> tuple[Mapping[str, str], ...]:
    """All rows of a shipped table, as printed.

    Args:
        table: path below ``reference/`` without ``.csv``, such as ``kiln/cones``.
    Raises:
        NotInTable: if there is no such table.
    """
    place = _folder().joinpath(f"{table}.csv")
    if not place.is_file():
        raise NotInTable(f"table {table!r}", why="no such file is shipped under reference/", mend="Check its name")
    with place.open("r", encoding="utf-8") as file:
        lines = (line for line in file if not line.startswith("#"))
        return tuple(MappingProxyType(row) for row in csv.DictReader(lines))


@cache
def _defaults() -> Mapping[str, Default]:
    return MappingProxyType(
        {
            row["key"]: Default(
                row["key"],
                float(row["value"]),
                float(row["low"]),
                float(row["high"]),
                row["unit"],
                row["source"],
                row["label"],
            )
            for row in rows("defaults")
        }
    )


def default(key: str) -> Default:
    """The figure used when the potter has given none.

    Raises:
        NotInTable: if no default of that name is shipped.
    """
    try:
        return _defaults()[key]
    except KeyError:
        raise NotInTable(
            f"default {key!r}", why="reference/defaults.csv has no such row", mend="Check its name, or add the row"
        ) from None


def has_default(key: str) -> bool:
    """Whether a default of that name is shipped."""
    return key in _defaults()


def defaults() -> tuple[Default, ...]:
    """Every default that is shipped, in the table's order."""
    return tuple(_defaults().values())


def _source_files(folder: Traversable) -> Iterator[Traversable]:
    for place in folder.iterdir():
        if place.is_dir():
            yield from _source_files(place)
        elif place.name == "sources.toml":
            yield place


@cache
def sources() -> Mapping[str, Source]:
    """Every source named in any ``sources.toml`` under ``reference/``, by key."""
    found: dict[str, Source] = {}
    for place in _source_files(_folder()):
        for key, entry in tomllib.loads(place.read_text(encoding="utf-8")).items():
            found[key] = Source(key, **{name: str(value) for name, value in entry.items()})
    return MappingProxyType(found)


def source_words(key: str) -> str:
    """A source key in words, for people; words that are no key come back as they are."""
    if key in WORDS_FOR_SOURCES:
        return WORDS_FOR_SOURCES[key]
    entry = sources().get(key)
    if entry is None and "+" in key and " " not in key:
        return "; ".join(source_words(part) for part in key.split("+"))
    if entry is None and key.startswith("default: "):
        return "default: " + source_words(key.removeprefix("default: "))
    return str(entry) if entry else key
