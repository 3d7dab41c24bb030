"""A page of boxes over a TOML text: what stands in each box, what was typed, what is wrong with it, and back to text."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from wareboard.errors import Problems, Unreadable, WareboardError
from wareboard.studio.brief_fields import Box, Filled, Part, boxes_of, stems
from wareboard.studio.paper_text import PaperText, Path

BAR = (
    Box("wet", "Wet", example="100 mm"),
    Box("fired", "Fired", example="88 mm"),
    Box("direction", "Which way", "choice", choices=(("", "both"), ("height", "height"), ("width", "width"))),
)


@dataclass(slots=True)
class Group:
    """The boxes of one table of the text."""

    part: Part
    stem: Path
    heading: str
    boxes: list[Filled]
    bars: list[list[Filled]]

    @property
    def id(self) -> str:
        return "-".join(str(part) for part in self.stem) or "commission"

    @property
    def words(self) -> str:
        """What the group comes to in a few words, for when it is folded: "72, 78 mm high"."""
        shown = {filled.box.key: filled.value for filled in self.boxes}
        return ", ".join(
            shown[key]
            for key in ("count", "height", "rim", "on", "method", "shelf_diameter", "hours_per_day")
            if shown.get(key)
        )

    @property
    def number(self) -> int:
        return int(self.stem[-1]) if self.part.many else 0

    @property
    def open_boxes(self) -> list[Filled]:
        return self.boxes[: self.part.few]

    @property
    def folded_boxes(self) -> list[Filled]:
        return self.boxes[self.part.few :]

    @property
    def unfolded(self) -> bool:
        """Whether something is wrong in the boxes that fold away."""
        return any(filled.errors for filled in self.folded_boxes)

    @property
    def folded_written(self) -> int:
        """How many of the boxes that fold away have something written in them."""
        return sum(bool(filled.value) for filled in self.folded_boxes)

    @property
    def wrong(self) -> bool:
        """Whether something is wrong anywhere in the group."""
        return any(filled.errors for filled in (*self.boxes, *(each for bar in self.bars for each in bar)))


@dataclass(slots=True)
class Trouble:
    """One thing to put right, with the id of the box that it is about, if it is about one."""

    words: str
    target: str = ""
    label: str = ""


@dataclass(slots=True)
class PaperForm:
    """All of a page: the draft text, the groups of boxes, and what is wrong."""

    parts: tuple[Part, ...]
    paper: PaperText
    posted: Mapping[str, str] = field(default_factory=dict)
    own_troubles: dict[str, str] = field(default_factory=dict)
    troubles: list[Trouble] = field(default_factory=list)
    groups: list[Group] = field(default_factory=list)
    fresh: tuple[str, int] = ("", -1)

    def __post_init__(self) -> None:
        self._take_in()
        self.fill()

    @property
    def text(self) -> str:
        """The text with all that was typed; raises `WareboardError` where it cannot be written so."""
        if self.own_troubles:
            raise Problems(
                [Unreadable(words, "it cannot be written so", "Mend it") for words in self.own_troubles.values()]
            )
        return self.paper.text()

    def by_part(self) -> Iterator[tuple[Part, list[Group]]]:
        """Each part with its groups, in the page's order."""
        for part in self.parts:
            yield part, [group for group in self.groups if group.part is part]

    def fill(self) -> None:
        """Put the present text into the boxes, over it whatever could not be written."""
        self.groups = [self._group(part, stem) for part in self.parts for stem in stems(part, self.paper.plain)]
        for name, words in self.own_troubles.items():
            self._tell(words, next((box for box in self.all_boxes() if box.name == name), None))

    def tell(self, problem: WareboardError) -> None:
        """Put what is wrong beside the boxes it is about, and in the list at the head of the page."""
        for each in problem.problems if isinstance(problem, Problems) else (problem,):
            box, group = self._about(each.where)
            words = f"{each.what}: {each.why}. {each.mend}."
            if box is None and group is not None:
                self.troubles.append(Trouble(words, group.id, group.heading))
            elif box is None and each.where:
                self._tell(f"{words} ({each.where})", None)
            else:
                self._tell(words, box)

    def all_boxes(self) -> Iterator[Filled]:
        """Every box, those of measured bars included."""
        for group in self.groups:
            yield from group.boxes
            for bar in group.bars:
                yield from bar

    def _tell(self, words: str, box: Filled | None) -> None:
        if box is not None:
            box.errors.append(words)
        self.troubles.append(Trouble(words, box.id if box else "", box.box.label if box else ""))

    def _take_in(self) -> None:
        for _part, stem, box in list(boxes_of(self.paper, self.parts)):
            path = box.path(stem)
            name = ".".join(str(step) for step in path)
            if name not in self.posted:
                continue
            written = self.posted[name].replace("\r\n", "\n")
            try:
                if box.kind == "amounts":
                    self.paper.put_amounts(path, written)
                    _refuse_unknown(self.paper.shown(path), box)
                else:
                    self.paper.put(path, written, box.kind)
            except Unreadable as problem:
                self.own_troubles[name] = str(problem)
        for part in self.parts:
            if part.measured:
                for stem in stems(part, self.paper.plain):
                    self._take_in_bars((*stem, "measured"))

    def _take_in_bars(self, path: Path) -> None:
        stem = ".".join(str(step) for step in path)
        rows: dict[int, dict[str, str]] = {}
        for name, written in self.posted.items():
            found = re.fullmatch(rf"{re.escape(stem)}\.(\d+)\.(wet|fired|direction)", name)
            if found:
                rows.setdefault(int(found[1]), {})[found[2]] = written
        if rows:
            self.paper.put_rows(path, [rows[number] for number in sorted(rows)])

    def _group(self, part: Part, stem: Path) -> Group:
        boxes = [self._filled(box, box.path(stem)) for box in part.boxes]
        bars: list[list[Filled]] = []
        if part.measured:
            measured: Any = self._at((*stem, "measured"))
            many = len(measured) if isinstance(measured, list) else 0
            bars = [[self._filled(box, (*stem, "measured", row, box.key)) for box in BAR] for row in range(many + 1)]
        heading = part.heading
        if part.many:
            heading = self.paper.shown((*stem, "name")) or f"{part.one} {int(stem[-1]) + 1}"
        return Group(part, stem, heading, boxes, bars)

    def _filled(self, box: Box, path: Path) -> Filled:
        filled = Filled(box, path, self.paper.shown(path))
        if filled.name in self.own_troubles:
            filled.value = self.posted[filled.name]
        return filled

    def _at(self, path: Path) -> Any:
        found: Any = self.paper.plain
        for step in path:
            try:
                found = found[step]
            except (KeyError, IndexError, TypeError):
                return None
        return found

    def _about(self, where: str) -> tuple[Filled | None, Group | None]:
        """The box, or else the group, that a problem's place names."""
        words = re.sub(r",? ?line \d+$", "", where)
        boxes = {_where(filled.path): filled for filled in self.all_boxes()}
        groups = {_where(group.stem): group for group in self.groups if group.stem}
        while words:
            if words in boxes:
                return boxes[words], None
            if words in groups:
                return None, groups[words]
            words = words.rpartition(", ")[0]
        named = next((group for group in self.groups if group.part.many and where == group.heading), None)
        return None, named


def _refuse_unknown(shown: str, box: Box) -> None:
    """Refuse a name that the plan would pass over in silence."""
    for line in shown.splitlines():
        if box.known and not any(line.startswith(f"{name} ") for name in box.known):
            raise Unreadable(repr(line), "nothing here has this name", f"Use one of: {', '.join(box.known)}")


def _where(path: Sequence[str | int]) -> str:
    """A path in the words that the brief's problems use for places: "forms 1, height"."""
    words = ""
    for step in path:
        words += f" {step + 1}" if isinstance(step, int) else (f", {step}" if words else step)
    return words
