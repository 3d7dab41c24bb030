"""The boards beside the calendar: which line of it a job stands for, which load comes next, what is behind."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from wareboard.book.boards.course import Course, Line
from wareboard.book.boards.models import Board
from wareboard.book.boards.stages import ORDER
from wareboard.studio.bench.jobs import Behind, day_words

# The calendar takes some stages together: a batch is trimmed, handled, carved and set to dry in one task.
LINE_OF = {
    "ball": "thrown",
    "thrown": "thrown",
    "trimmed": "dried",
    "handled": "dried",
    "marked": "dried",
    "drying": "dried",
    "bisque": "bisque",
    "washed": "washed",
    "lined": "lined",
    "painted": "glazed",
    "glazed": "glazed",
    "fired": "glaze",
    "ground": "packed",
    "packed": "packed",
}
STANDS_AT = {"thrown": "thrown", "dried": "drying", "washed": "washed", "lined": "lined", "packed": "packed"}
SAID = {
    "thrown": "thrown",
    "dried": "set to dry",
    "washed": "washed",
    "lined": "lined",
    "glazed": "glazed",
    "packed": "packed",
}


class Against:
    """One commission's calendar beside its boards."""

    def __init__(self, course: Course, boards: Iterable[Board], now: datetime) -> None:
        self.course, self.now = course, now
        self.boards = list(boards)
        self._lines: dict[tuple[str, str], list[Line]] = {}
        for line in sorted(course.lines, key=lambda line: line.start):
            if line.kind == "hands":
                self._lines.setdefault((line.stage, line.form), []).append(line)
        self._loads: dict[str, Line | None] = {}  # asked for by every board, the same for all

    def passed(self, form: str, stage: str) -> int:
        """Pieces of a form (of all, where none is named) that came to a stage or are in the kiln for it."""
        return sum(
            board.pieces
            for board in self.boards
            if (not form or board.form == form) and ORDER[board.stage] >= ORDER[stage]
        )

    def lines(self, stage: str, form: str = "") -> Sequence[Line]:
        """The calendar's lines of work of a kind, by their start; of loads only the loading."""
        return self._lines.get((stage, form), ())

    def next_line(self, form: str, to: str) -> Line | None:
        """The first line of the calendar that takes a form to a stage and that the boards have not passed yet."""
        done = self.passed(form, to)
        for line in self.lines(LINE_OF.get(to, ""), form):
            done -= line.pieces
            if done < 0:
                return line
        return None

    def line_to(self, form: str, to: str) -> Line | None:
        """The line of the calendar for taking a form to a stage: its own, or the load that it goes into."""
        return self.next_load(to) if to in ("bisque", "fired") else self.next_line(form, to)

    def next_load(self, to: str) -> Line | None:
        """The first load of the calendar whose pieces are not fired yet; ``to`` bisque or fired."""
        if to not in self._loads:
            self._loads[to] = self._first_unfired(to)
        return self._loads[to]

    def _first_unfired(self, to: str) -> Line | None:
        done = self.passed("", to)
        for line in self.lines(LINE_OF[to]):
            done -= line.pieces
            if done < 0:
                return line
        return None

    def load_number(self, to: str) -> int:
        """Which load of its kind by the calendar is the next, counted from one; 0 where none is left."""
        line = self.next_load(to)
        return self.lines(LINE_OF[to]).index(line) + 1 if line else 0

    def feeds(self, stage: str) -> str:
        """For which load a board at a stage is awaited: "the bisque load of Thu 10 Dec takes 63"."""
        to = "bisque" if ORDER[stage] < ORDER["bisque"] else "fired" if ORDER[stage] < ORDER["fired"] else ""
        line = self.next_load(to) if to else None
        if line is None:
            return ""
        words = "bisque" if to == "bisque" else "glaze"
        when = line.start
        if when.date() < self.now.date():
            return f"the {words} load of {day_words(when, self.now)} is still to come"
        return f"the {words} load of {day_words(when, self.now)} takes {line.pieces}"

    def behind(self, commission: str) -> list[Behind]:
        """By form, the furthest stage that more pieces should have come to by last night."""
        found = []
        for form in self.course.forms:
            worst = self._worst(form.name)
            if worst:
                found.append(Behind(commission, worst))
        return found

    def _worst(self, form: str) -> str:
        for stage in reversed(SAID):
            stands_at = STANDS_AT.get(stage) or self._last_coat(form)
            planned = sum(line.pieces for line in self.lines(stage, form) if line.end.date() < self.now.date())
            there = self.passed(form, stands_at)
            if planned > there:
                return f"by the calendar {planned} × {form} are {SAID[stage]} by now; {there} are"
        return ""

    def _last_coat(self, form: str) -> str:
        own = self.course.form(form)
        coats = [each for each in (own.stages if own else ()) if each in ("painted", "glazed")]
        return coats[-1] if coats else "glazed"
