"""Boxes of a page's form: read as people write, with what is wrong told beside each box and nothing typed lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from wareboard import quantities
from wareboard.errors import OutOfRange, Unreadable, WareboardError
from wareboard.plan.fields import plain_number, whole_number

USUAL_DWELL_S = 3.0
Options = Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something to put right, and the box that it is about."""

    target: str
    label: str
    words: str


@dataclass(frozen=True, slots=True)
class Box:
    """One box: its name, its label, how its words are read, and what it must hold."""

    name: str
    label: str
    read: Callable[[str], Any] = str
    kind: str = "words"
    help: str = ""
    example: str = ""
    options: Options = ()
    needed: bool = False
    first: str = ""
    long: bool = False
    wide: bool = False
    most: int = 200


@dataclass(frozen=True, slots=True)
class Filled:
    """A box with what stands in it."""

    box: Box
    id: str
    name: str
    value: str
    errors: tuple[str, ...]
    options: Options
    is_day: bool


@dataclass(slots=True)
class Form:
    """Boxes with what was typed into them; ``typed`` None shows what they hold at first."""

    boxes: Sequence[Box]
    typed: Mapping[str, str] | None = None
    stem: str = ""
    first: Mapping[str, str] = field(default_factory=dict)
    values: dict[str, Any] = field(default_factory=dict, init=False)
    wrong: dict[str, list[str]] = field(default_factory=dict, init=False)
    other: list[Trouble] = field(default_factory=list, init=False)

    def __post_init__(self) -> None:
        for box in self.boxes:
            try:
                self.values[box.name] = self._read(box)
            except WareboardError as problem:
                self.values[box.name] = None
                if self.typed is not None:
                    self.wrong.setdefault(box.name, []).append(str(problem))

    def _read(self, box: Box) -> Any:
        words = self.words(box).strip()
        if not words:
            if box.needed:
                raise Unreadable(box.label, "it must not be empty", "Write it in")
            return "" if box.read is str else None
        if len(words) > box.most and box.kind != "long":
            raise Unreadable(box.label, f"it has more than {box.most} letters", "Say it shorter")
        if box.options and words not in dict(box.options):
            raise Unreadable(f"{box.label} {words!r}", "it is none of the choices", "Choose one")
        return box.read(words)

    def words(self, box: Box) -> str:
        """What stands in a box."""
        if self.typed is not None and (box.name in self.typed or box.kind != "choice"):
            return self.typed.get(box.name, "")
        return self.first.get(box.name, box.first)

    def tell(self, problem: WareboardError | str, name: str = "") -> None:
        """Something wrong that only came out later, beside a box or above them all."""
        if name:
            self.wrong.setdefault(name, []).append(str(problem))
        else:
            self.other.append(Trouble("", "", str(problem)))

    @property
    def is_right(self) -> bool:
        return not self.wrong and not self.other

    @property
    def troubles(self) -> list[Trouble]:
        """Everything to put right, in the order of the boxes."""
        named = [
            Trouble(self.id_of(box), box.label, words) for box in self.boxes for words in self.wrong.get(box.name, [])
        ]
        return [*self.other, *named]

    def id_of(self, box: Box) -> str:
        return f"{self.stem}-{box.name}" if self.stem else box.name

    def filled(self, box: Box) -> Filled:
        """A box as the page shows it."""
        wrong = tuple(self.wrong.get(box.name, ()))
        return Filled(box, self.id_of(box), box.name, self.words(box), wrong, box.options, box.kind == "day")

    def __iter__(self) -> Iterator[Filled]:
        return iter([self.filled(box) for box in self.boxes])


def grams(words: str) -> float:
    """A weight, g, above 0."""
    return above(quantities.mass_g(words), words)


def millilitres(words: str) -> float:
    """A volume, ml, above 0."""
    return above(quantities.volume_ml(words), words)


def from_nought(read: Callable[[str], float]) -> Callable[[str], float]:
    """A reader that takes 0 too, but nothing below."""

    def reading(words: str) -> float:
        value = read(words)
        if value < 0:
            raise OutOfRange(words, "it must be 0 or more", "Mend it")
        return value

    return reading


def above(value: float, words: str) -> float:
    """The value, where it is above 0."""
    if not value > 0:
        raise OutOfRange(words, "it must be above 0", "Mend it, or leave the box empty")
    return value


def positive_number(words: str) -> float:
    """A plain number above 0."""
    return above(plain_number(words), words)


def seconds(words: str) -> float:
    """A time above 0, s."""
    return above(quantities.duration_s(words), words)


def count(words: str) -> int:
    """A whole number from 1 up to 10,000."""
    number = whole_number(words)
    if not 1 <= number <= 10_000:
        raise OutOfRange(words, "it must be from 1 to 10,000", "Mend it")
    return number


def a_day(words: str) -> date:
    """A day such as 2026-11-25."""
    try:
        return date.fromisoformat(words)
    except ValueError:
        raise Unreadable(f"day {words!r}", "it is no day", "Write it as 2026-11-25") from None


def numbers(words: str) -> list[float]:
    """Several plain numbers, with spaces or semicolons between."""
    return [plain_number(part) for part in words.replace(";", " ").split()]


def per_cent(words: str) -> float:
    """A share from per cent: "12" and "12 %" are both 0.12."""
    return quantities.share(words, bare="%")


def weight_or_volume(words: str) -> tuple[str, float]:
    """("g", weight) or ("ml", volume), as it was written; a bare number is grams."""
    try:
        return "g", grams(words)
    except Unreadable:
        try:
            return "ml", millilitres(words)
        except Unreadable:
            raise Unreadable(
                f"amount {words!r}", "it is neither a weight nor a volume", "Write it like 3 kg, or 5 l"
            ) from None


DAY = Box("day", "Day", a_day, "day", needed=True)
