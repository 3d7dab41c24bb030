"""Errors that a person can act on: what is wrong, where, why, and the mend."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager


class WareboardError(Exception):
    """Something a person can put right: what is wrong, where, why, and the mend."""

    def __init__(self, what: str, why: str, mend: str, where: str = "") -> None:
        super().__init__(what, why, mend, where)  # all four, so that it survives pickling between workers
        self.what, self.why, self.mend, self.where = what, why, mend, where

    def __str__(self) -> str:
        place = f" ({self.where})" if self.where else ""
        return f"{self.what}{place}: {self.why}. {self.mend}."


class OutOfRange(WareboardError, ValueError):
    """A value outside what its formula or table covers."""


class Unreadable(WareboardError, ValueError):
    """Words that could not be read as the quantity or the file that was asked for."""


class NotInTable(WareboardError, LookupError):
    """A name that a shipped table does not hold."""


class Problems(WareboardError):
    """Several things to put right at once, so that a person is told once and not ten times."""

    def __init__(self, problems: Iterable[WareboardError], what: str = "There are things to put right") -> None:
        self.problems = tuple(problems)
        super().__init__(what, f"{len(self.problems)} found", "Mend each line below")

    def __reduce__(self) -> tuple[type[Problems], tuple[tuple[WareboardError, ...], str]]:
        return (type(self), (self.problems, self.what))

    def __str__(self) -> str:
        return "\n".join([f"{self.what} ({len(self.problems)}):", *(f"  {problem}" for problem in self.problems)])


@contextmanager
def placed(where: str) -> Iterator[None]:
    """What cannot be done within is told with its place, unless it has one already."""
    try:
        yield
    except WareboardError as problem:
        problem.where = problem.where or where
        raise


def as_written(value: object, longest: int = 60, depth: int = 4) -> str:
    """A value much as a person wrote it, in no language of the machine, cut off where it is long."""
    if isinstance(value, bool):
        words = str(value).lower()
    elif isinstance(value, dict | list | tuple) and not depth:
        words = "…"
    elif isinstance(value, dict):
        parts = (f"{key} = {as_written(part, longest, depth - 1)}" for key, part in list(value.items())[:longest])
        words = "{ " + ", ".join(parts) + " }"
    elif isinstance(value, list | tuple):
        words = "[" + ", ".join(as_written(part, longest, depth - 1) for part in value[:longest]) + "]"
    else:
        words = repr(value) if isinstance(value, str) else str(value)
    return words if len(words) <= longest else words[: longest - 1] + "…"
