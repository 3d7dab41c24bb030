"""How the ware of a board dries, by weighing one piece of it: when to trim, join, call it dry."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from wareboard.book.boards.models import Board
from wareboard.book.boards.stages import WRAPPED
from wareboard.book.learning.briefs import USUAL_SHRINKAGE, facts_of
from wareboard.book.measures import read
from wareboard.book.measures.read import WeighIn
from wareboard.errors import WareboardError
from wareboard.working import Estimate, Step

if TYPE_CHECKING:
    from wareboard.clay.damp_piece import Piece, Spell
    from wareboard.clay.dry_enough import DryEnough
    from wareboard.clay.drying_belief import Belief
    from wareboard.clay.joining import Joining
    from wareboard.plan.brief import Form

ROOM_C = 20.0  # common practice where the room was never measured
SCALE_G = 1.0
LEAST = 2
MOST_TOLD = 6  # the first and the last few say as much as all of them
SOON_H = 6.0  # weighed within so many hours of throwing, ware is as wet as thrown
SHORTEST_SPELL_H = 0.05
HANDLE_LENGTH_MM = 150.0  # how fast a handle dries goes by its section; its length hardly counts


@dataclass(frozen=True, slots=True)
class When:
    """A moment with its range: nine times in ten it falls within."""

    low: datetime
    value: datetime
    high: datetime


@dataclass(frozen=True, slots=True)
class ByWeight:
    """What the weighings of a board's piece foretell, if it stands on as it stands now.

    ``trim`` and ``trim_until`` bound the window for turning and stamping; ``join`` and ``join_until`` that for the handles
    (None without a handle or a window); ``trim_g`` and ``dry_g`` are the weights to look for; ``enough`` tells by the last
    two weighings whether it may go into bisque (None where they are too near each other, or it stands wrapped).
    """

    weighings: tuple[WeighIn, ...]
    trim: When
    trim_until: When
    join: When | None
    join_until: When | None
    join_words: str
    bone_dry: When
    trim_g: Estimate
    dry_g: Estimate
    enough: DryEnough | None
    covered: bool
    words: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Foretold:
    """What the day's work needs of `ByWeight`, small enough to be kept: moments, the dry weight, and whether dry enough."""

    trim: When | None
    join: When | None
    bone_dry: When | None
    dry_g: float
    verdict: str  # of dry enough; empty where nothing can be told

    @classmethod
    def of(cls, found: ByWeight) -> Foretold:
        verdict = found.enough.verdict if found.enough else ""
        return cls(found.trim, found.join, found.bone_dry, found.dry_g.value, verdict)

    def written(self) -> dict[str, Any]:
        """As what JSON can hold."""
        plain: dict[str, Any] = {"dry_g": self.dry_g, "verdict": self.verdict}
        for name in ("trim", "join", "bone_dry"):
            when = getattr(self, name)
            plain[name] = [each.isoformat() for each in (when.low, when.value, when.high)] if when else None
        return plain

    @classmethod
    def read(cls, plain: Mapping[str, Any]) -> Foretold:
        """What `written` gave."""
        whens = {
            name: When(*(datetime.fromisoformat(each) for each in plain[name])) if plain[name] else None
            for name in ("trim", "join", "bone_dry")
        }
        return cls(whens["trim"], whens["join"], whens["bone_dry"], plain["dry_g"], plain["verdict"])


def by_weight(board: Board, now: datetime) -> ByWeight | None:
    """The drying of a board's ware as its weighings have it; None with fewer than two weighings, or a form of unknown size.

    Args:
        now: bounds what is read; what comes is reckoned from the last weighing.
    Source: clay.drying calibrated by clay.weighed: nine times in ten within the range (docs/benchmarks.md).
    """
    rows = [each for each in read.weighings(board) if each.when <= now]
    form = _form(board)
    if len(rows) < LEAST or form is None:
        return None
    try:
        return _reckoned(board, rows, form)
    except WareboardError:
        return None  # weights that rise, a form that leaves no inside: the page says only what was weighed


def _form(board: Board) -> Form | None:
    brief = facts_of(board.commission).brief
    return next((each for each in brief.forms if each.name == board.form), None) if brief else None


def _reckoned(board: Board, rows: Sequence[WeighIn], form: Form) -> ByWeight:
    from wareboard.clay.joining import joining
    from wareboard.clay.ready import drying
    from wareboard.clay.weighed import Weighing, learned

    start = rows[0].when
    water = _start_water(board, rows[0])
    piece = _piece(form, board, rows[0].grams, water)
    spells = _spells(board, start, rows[-1].when)
    told = rows if len(rows) <= MOST_TOLD else [rows[0], *rows[1 - MOST_TOLD :]]
    weighings = [Weighing(_hours(start, each.when), each.grams) for each in told]
    taught = learned(piece, spells, weighings, _usual(piece, spells[0], water), SCALE_G)
    found = drying(piece, spells, taught.belief)
    joined: Joining | None = None
    if form.handle is not None:
        joined = joining(piece, _handle(form, water.value), spells, belief=taught.belief)
    return ByWeight(
        tuple(rows),
        _when(start, found.leather_hard_from_h),
        _when(start, found.leather_hard_until_h),
        _when(start, joined.from_h) if joined and joined.from_h else None,
        _when(start, joined.until_h) if joined and joined.until_h else None,
        joined.words if joined else "",
        _when(start, found.bone_dry_h),
        found.leather_hard_g,
        found.bone_dry_g,
        _enough(rows),
        board.state == WRAPPED,
        taught.words,
        found.steps,
    )


def _hours(start: datetime, when: datetime) -> float:
    return (when - start).total_seconds() / 3600.0


def _when(start: datetime, hours: Estimate) -> When:
    low, value, high = (start + timedelta(hours=each) for each in (hours.low, hours.value, hours.high))
    return When(low, value, high)


def _start_water(board: Board, first: WeighIn) -> Estimate:
    """Water at the first weighing, on the dry weight: as thrown if it was soon after, else that of ware on its way."""
    from wareboard.clay.drying_figures import figure, window

    thrown = figure("water as thrown")
    if first.stage == "thrown":
        begun = board.entries.filter(stage_to="thrown").order_by("number").values_list("happened", flat=True).first()
        if begun is None or _hours(begun, first.when) <= SOON_H:
            return thrown
        low = window("leather-hard")[1]
        return Estimate(0.5 * (low + thrown.high), low, thrown.high, "common-practice")
    low, high = window("leather-hard")[0], window("soft leather-hard")[1]
    return Estimate(0.5 * (low + high), low, high, "common-practice")


def _piece(form: Form, board: Board, first_g: float, water: Estimate) -> Piece:
    """The form as thrown, its dry weight that of the piece on the scale."""
    from wareboard import reference
    from wareboard.clay.damp_piece import straight_piece, weighed_piece

    kind = facts_of(board.commission).forms[form.name].kind
    grow = 1.0 / (1.0 - USUAL_SHRINKAGE)
    wall = (form.wall or reference.default(f"wall.{kind}").value) * grow
    floor = (form.floor or reference.default(f"floor.{kind}").value) * grow
    dry_g = first_g / (1.0 + water.value)
    across = form.rim or form.belly
    if across is None or form.height is None:
        return replace(weighed_piece(dry_g, max(wall, floor), water.value), sized=True)
    sized = straight_piece(across * grow, form.height * grow, wall, floor, water.value)
    share = dry_g / sized.dry_g
    return replace(sized, parts=tuple(replace(part, dry_g=part.dry_g * share) for part in sized.parts))


def _handle(form: Form, water: float) -> Piece:
    from wareboard import reference
    from wareboard.clay.damp_piece import handle_piece

    assert form.handle is not None
    grow = 1.0 / (1.0 - USUAL_SHRINKAGE)
    width = form.handle.width or reference.default("handle.width_mm").value
    thickness = form.handle.thickness or reference.default("handle.thickness_mm").value
    return handle_piece(HANDLE_LENGTH_MM, width * grow, thickness * grow, water)


def _usual(piece: Piece, spell: Spell, water: Estimate) -> Belief:
    from wareboard.clay.drying_belief import usual_belief

    return usual_belief(piece, spell, start=water)


def _spells(board: Board, start: datetime, last: datetime) -> tuple[Spell, ...]:
    """What the board stood in since the first weighing: open or under a light cover, by its entries; the last for ever."""
    from wareboard.clay.air import Air
    from wareboard.clay.damp_piece import Spell
    from wareboard.clay.drying_figures import figure

    seen = read.climate(last)
    humidity = figure("humidity of the room").value if seen.humidity is None else seen.humidity
    air = Air(ROOM_C if seen.temp_c is None else seen.temp_c, min(0.97, max(0.05, humidity)))
    turns = read.cover_of(board)
    covered = read.covered_at(start, turns, board)
    spells, begun = [], start
    for when, _, then in (each for each in turns if each[0] > start):
        hours = _hours(begun, when)
        if hours >= SHORTEST_SPELL_H:
            spells.append(Spell(air, cover="light" if covered else "open", hours=hours))
            begun = when
        covered = then
    return (*spells, Spell(air, cover="light" if covered else "open"))


def _enough(rows: Sequence[WeighIn]) -> DryEnough | None:
    """The last weighing against the latest one that lies half a day or more before it, both of ware that stood open."""
    from wareboard.clay.dry_enough import SHORTEST_H, by_two_weighings

    last = rows[-1]
    earlier = [each for each in rows[:-1] if _hours(each.when, last.when) >= SHORTEST_H and not each.covered]
    if not earlier or last.covered:
        return None
    try:
        return by_two_weighings(earlier[-1].grams, last.grams, _hours(earlier[-1].when, last.when), SCALE_G)
    except WareboardError:
        return None
