"""Witness packs as they are tapped in: for each level three cones, each by a drawn bend or in degrees, and a photograph."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from wareboard.book.firings.models import ConeReading, Firing
from wareboard.errors import OutOfRange, WareboardError
from wareboard.plan.fields import plain_number
from wareboard.sheets.firing_cones import CLOCKS, WORDS
from wareboard.studio.kilns.cone_drawing import nearest_clock
from wareboard.studio.paper_form import Trouble

if TYPE_CHECKING:
    from django.core.files.uploadedfile import UploadedFile
    from django.utils.datastructures import MultiValueDict

PLACES = (("guide", -1), ("target", 0), ("guard", 1))
USUAL_LEVELS = ("bottom", "middle", "top")
MOST_LEVELS = 12


@dataclass(slots=True)
class ConeBox:
    """One cone of a pack: which it is, the bend tapped, the degrees written."""

    place: str
    cone: str
    clock: str = ""
    degrees: str = ""

    @property
    def bends(self) -> list[tuple[str, str, str, bool]]:
        """Each bend to tap: its value, its name among the drawings, its words, whether it is the one."""
        shown = [(str(clock), f"cone-{clock}", f"{clock} o’clock, {WORDS[clock]}") for clock in CLOCKS]
        found = [("", "cone-none", "not there, or not read"), *shown]
        return [(value, drawing, words, value == self.clock) for value, drawing, words in found]


@dataclass(slots=True)
class LevelBoxes:
    """The boxes of one level."""

    at: int
    level: str
    cones: list[ConeBox]
    pk: int | None = None
    notes: str = ""
    photo_id: int | None = None
    take_off: bool = False
    troubles: list[Trouble] = field(default_factory=list)

    def name(self, what: str) -> str:
        return f"{what}-{self.at}"


def boxes_of(firing: Firing, levels: Iterable[str] = ()) -> list[LevelBoxes]:
    """The boxes as they stand: each level read, then the ones named that were not."""
    there = list(firing.cones.filter(put_away=None))
    found = [_filled(at, row) for at, row in enumerate(there)]
    named = {row.level for row in there}
    for level in (each for each in levels if each not in named):
        found.append(LevelBoxes(len(found), level, [ConeBox(place, cone) for place, cone in pack_for(firing).items()]))
    return found


def pack_for(firing: Firing) -> dict[str, str]:
    """Guide, target and guard for a firing's cone; none where the chart ends."""
    from wareboard.kiln.chart import next_cone

    found = {}
    for place, step in PLACES:
        try:
            found[place] = next_cone(firing.cone, step, firing.form)
        except WareboardError:
            found[place] = ""
    return found


def levels_used(firing: Firing) -> tuple[str, ...]:
    """The levels that packs stood on last time in this kiln, from the bottom up; else the usual three."""
    before = (
        ConeReading.objects.filter(firing__kiln=firing.kiln, put_away=None)
        .exclude(firing=firing)
        .order_by("-firing__number", "place")
    )
    last = before.first()
    if last is None:
        return USUAL_LEVELS
    return tuple(before.filter(firing=last.firing).values_list("level", flat=True))


def _filled(at: int, row: ConeReading) -> LevelBoxes:
    cones = []
    for place, _ in PLACES:
        lean = getattr(row, f"{place}_deg")
        clock = "" if lean is None else str(nearest_clock(lean))
        written = "" if lean is None or row.by_clock else f"{lean:g}"
        cones.append(ConeBox(place, getattr(row, place), clock, written))
    return LevelBoxes(at, row.level, cones, row.pk, row.notes, row.photo_id)


def read_boxes(
    firing: Firing, posted: Mapping[str, str], files: MultiValueDict[str, UploadedFile[bytes]]
) -> tuple[list[LevelBoxes], list[dict[str, Any]], list[tuple[int, UploadedFile[bytes]]]]:
    """What was posted: the boxes again, the rows to keep, and each photograph with the place of its row."""
    count = int(posted["levels"]) if posted.get("levels", "").isdecimal() else 0
    boxes: list[LevelBoxes] = []
    rows: list[dict[str, Any]] = []
    photos = []
    for at in range(min(count, MOST_LEVELS)):
        level = _posted(firing, at, posted)
        boxes.append(level)
        row = _row(level, len(rows))
        photo = files.get(level.name("photo"))
        if row is not None and level.level and level.level in {each["level"] for each in rows}:
            say(level, "level", "Another level has the same name. Write where this one stood")
        if row is None or level.troubles:
            if photo is not None and not level.troubles:
                say(level, "photo", "A photograph stands for no reading: tap at least one cone beside it")
            continue
        if photo is not None:
            photos.append((len(rows), photo))
        rows.append(row)
    return boxes, rows, photos


def say(level: LevelBoxes, what: str, words: str) -> None:
    """A trouble with one of a level's boxes."""
    level.troubles.append(Trouble(words, level.name(what), level.level or "level"))


def _posted(firing: Firing, at: int, posted: Mapping[str, str]) -> LevelBoxes:
    pk = posted.get(f"pk-{at}", "")
    held = firing.cones.filter(pk=int(pk)).first() if pk.isdecimal() else None
    pack = {place: getattr(held, place) for place, _ in PLACES} if held else pack_for(firing)
    cones = [
        ConeBox(place, cone, posted.get(f"{place}-{at}", ""), posted.get(f"{place}-deg-{at}", ""))
        for place, cone in pack.items()
    ]
    notes, take_off = posted.get(f"notes-{at}", "")[:200], f"off-{at}" in posted
    level = posted.get(f"level-{at}", "").strip()[:40]
    return LevelBoxes(at, level, cones, held.pk if held else None, notes, held.photo_id if held else None, take_off)


def _row(level: LevelBoxes, place: int) -> dict[str, Any] | None:
    """The row to keep; None where nothing was read on a level that is not there yet."""
    row: dict[str, Any] = {"pk": level.pk, "level": level.level, "place": place, "notes": level.notes}
    degrees = False
    for box in level.cones:
        lean, by_degrees = _lean(level, box)
        row |= {box.place: box.cone, f"{box.place}_deg": lean}
        degrees |= by_degrees
    row["by_clock"] = not degrees
    if level.pk is None and all(row[f"{place}_deg"] is None for place, _ in PLACES):
        return None
    if not level.level:
        say(level, "level", "This level has no name. Write where it stood, such as bottom or shelf 2")
    return row


def _lean(level: LevelBoxes, box: ConeBox) -> tuple[float | None, bool]:
    from wareboard.kiln.witness import lean_from_clock

    try:
        if box.degrees.strip():
            lean = plain_number(box.degrees)
            if not 0.0 <= lean <= 180.0:
                why = "a lean runs from 0, upright, to 90, level with the base (more, if it hangs)"
                raise OutOfRange(f"{lean:g} degrees", why, "Measure from upright with a template")
            return lean, True
        return (lean_from_clock(plain_number(box.clock)), False) if box.clock and box.cone else (None, False)
    except WareboardError as problem:
        what = f"{box.place}-deg" if box.degrees.strip() else box.place
        say(level, what, f"Cone {box.cone}: {problem}")
        return None, False
