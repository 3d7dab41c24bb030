"""The pieces of one load, wherever they stand: as planned, moved to another shelf, not loaded, or added to fill a gap.

A piece keeps its name and its key through every move: "0-3" is the plan's fourth piece on the lowest shelf, "e-0" the first
that was added. Lengths in mm from the middle of the shelf; y runs to the back; angles in degrees anticlockwise.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from wareboard.errors import OutOfRange, Problems, Unreadable, WareboardError
from wareboard.plan.fields import plain_number

if TYPE_CHECKING:
    from wareboard.kiln.footprint import Footprint
    from wareboard.kiln.inside import KilnInside, Load, ShelfLayout

OFF, GONE = -1, -2  # not loaded; taken off the list
FURTHEST_MM = 5000.0
MOST_ADDED = 60
GRID_MM, TURNS = 6.0, 24  # how closely a free place is looked for


@dataclass(frozen=True, slots=True)
class Piece:
    """One place to stand in a load: what stands there, and where; ``owner`` is another commission's code, or empty."""

    key: str
    name: str
    form: str
    diameter_mm: float
    height_mm: float
    reach_mm: float
    strap_mm: float
    stacked: int
    shelf: int
    x: float
    y: float
    angle: float
    owner: str = ""

    @property
    def shape(self) -> Footprint:
        """The piece as discs."""
        from wareboard.kiln.footprint import footprint

        return footprint(self.diameter_mm, self.reach_mm, self.strap_mm)

    @property
    def added(self) -> bool:
        """Whether the plan does not have it."""
        return self.key.startswith("e-")

    @property
    def count(self) -> int:
        """How many pieces stand in this place."""
        return max(self.stacked, 1)

    @property
    def words(self) -> str:
        """The form, and whose it is where it is not this commission's."""
        return f"{self.form} ({self.owner})" if self.owner else self.form


def planned_pieces(load: Load, lettered: Mapping[str, str]) -> list[Piece]:
    """The pieces as the plan has them, numbered within their form over the whole load."""
    counts: dict[str, int] = {}
    found = []
    for at, layout in enumerate(load):
        for i, form in enumerate(layout.forms):
            counts[form] = counts.get(form, 0) + 1
            found.append(_planned(layout, at, i, f"{lettered[form]}{counts[form]}"))
    return found


def _planned(layout: ShelfLayout, at: int, i: int, name: str) -> Piece:
    return Piece(
        f"{at}-{i}",
        name,
        layout.forms[i],
        float(layout.diameters_mm[i]),
        float(layout.heights_mm[i]),
        float(layout.handle_reach_mm[i]),
        float(layout.handle_width_mm[i]),
        int(layout.stacked[i]),
        at,
        round(float(layout.centres_mm[i, 0]), 1),
        round(float(layout.centres_mm[i, 1]), 1),
        round(float(layout.handle_angles_deg[i]), 1),
    )


# --- kept and fetched back --------------------------------------------------------------------------------------------


def as_kept(planned: Sequence[Piece], places: Sequence[Any], extra: Sequence[Mapping[str, Any]]) -> list[Piece]:
    """The pieces where a record has them; records from before pieces changed shelves hold only x, y and angle."""
    found = []
    for piece in planned:
        at, i = (int(each) for each in piece.key.split("-"))
        told = list(places[at][i])
        shelf, x, y, angle = told if len(told) == 4 else [at, *told]
        found.append(replace(piece, shelf=int(shelf), x=float(x), y=float(y), angle=float(angle)))
    return found + added_from(extra)


def to_keep(pieces: Iterable[Piece]) -> tuple[list[list[list[float]]], list[dict[str, Any]]]:
    """The places shelf by shelf as planned, and what was added, as a record keeps them."""
    places: dict[int, list[list[float]]] = {}
    extra = []
    for piece in pieces:
        if piece.added:
            if piece.shelf != GONE:
                extra.append(_bare(piece))
        else:
            places.setdefault(int(piece.key.split("-")[0]), []).append([piece.shelf, piece.x, piece.y, piece.angle])
    return [places[at] for at in sorted(places)], extra


def _bare(piece: Piece) -> dict[str, Any]:
    told = asdict(piece)
    del told["key"], told["name"]
    return told


def added_from(extra: Sequence[Mapping[str, Any]]) -> list[Piece]:
    """The added pieces of a record, named by their number."""
    return [Piece(key=f"e-{at}", name=f"+{at + 1}", **each) for at, each in enumerate(extra)]


def added_json(pieces: Iterable[Piece]) -> str:
    """The added pieces as a form carries them from page to page."""
    return json.dumps([_bare(piece) for piece in pieces if piece.added and piece.shelf != GONE])


def read_added(text: str) -> list[Piece]:
    """The added pieces that a form carries.

    Raises:
        Unreadable: if they are none that a page wrote.
        OutOfRange: for sizes that no piece has.
    """
    try:
        rows = json.loads(text or "[]")
        found = added_from([{**row, "stacked": int(row["stacked"]), "shelf": int(row["shelf"])} for row in rows])
        for piece in found:
            check_sizes(piece.form, piece.diameter_mm, piece.height_mm, piece.reach_mm, piece.strap_mm)
    except (TypeError, ValueError, KeyError, AttributeError) as problem:
        if isinstance(problem, WareboardError):
            raise
        raise Unreadable("the pieces added", "the page that sent them was changed", "Load the page again") from None
    if len(found) > MOST_ADDED:
        raise OutOfRange(f"{len(found)} pieces added", f"{MOST_ADDED} are the most", "Make another load of them")
    return found


def check_sizes(name: str, diameter_mm: float, height_mm: float, reach_mm: float, strap_mm: float) -> None:
    """Refuse sizes that no piece has, by name."""
    for what, size, least in (
        ("diameter", diameter_mm, 1.0),
        ("height", height_mm, 1.0),
        ("handle", reach_mm, 0.0),
        ("handle's width", strap_mm, 0.0),
    ):
        if not (math.isfinite(float(size)) and least <= float(size) <= FURTHEST_MM):
            raise OutOfRange(f"{what} of {name}: {size:g} mm", "no piece is so", "Measure it, in mm, cm or in")


# --- shelves again ----------------------------------------------------------------------------------------------------


def layouts_of(load: Load, pieces: Sequence[Piece]) -> Load:
    """The load's shelves with these pieces where they stand; what is not loaded stands on none."""
    return tuple(_layout(layout, [each for each in pieces if each.shelf == at]) for at, layout in enumerate(load))


def named_on(load: Load, pieces: Sequence[Piece]) -> list[list[str]]:
    """The names of the pieces on each shelf, in the order of `layouts_of`."""
    return [[each.name for each in pieces if each.shelf == at] for at in range(len(load))]


def _layout(layout: ShelfLayout, here: Sequence[Piece]) -> ShelfLayout:
    return replace(
        layout,
        forms=tuple(each.words for each in here),
        centres_mm=np.array([(each.x, each.y) for each in here], dtype=np.float64).reshape(-1, 2),
        diameters_mm=np.array([each.diameter_mm for each in here]),
        heights_mm=np.array([each.height_mm for each in here]),
        stacked=np.array([each.stacked for each in here], dtype=np.int64),
        handle_angles_deg=np.array([each.angle for each in here]),
        handle_reach_mm=np.array([each.reach_mm for each in here]),
        handle_width_mm=np.array([each.strap_mm for each in here]),
    )


def room_over_mm(layout: ShelfLayout, inside: KilnInside) -> float:
    """Height from a shelf's face to the shelf over it, or to the lid, mm."""
    return layout.post_mm if layout.post_mm > 0.0 else inside.usable_height_mm - layout.level_mm


def free_place(
    piece: Piece, layout: ShelfLayout, inside: KilnInside, gap_mm: float, others: Sequence[Piece]
) -> Piece | None:
    """The piece at the free place that is nearest to the shelf's back, or None where there is none.

    Looked for every 6 mm, and for a piece with a handle in 24 directions; what is found keeps every distance.
    """
    from wareboard.kiln.footprint import rings, stand_clear

    if piece.height_mm + inside.top_gap_mm > room_over_mm(layout, inside) + 0.2:
        return None
    floor = layout.shelf.floor().inset(inside.edge_mm)
    edge = layout.shelf.floor().outline_mm()
    (left, low), (right, high) = edge.min(axis=0), edge.max(axis=0)
    spots = np.array([(x, y) for y in np.arange(high, low, -GRID_MM) for x in np.arange(left, right, GRID_MM)])
    kept = rings((*layout.posts, *layout.cone_packs, *layout.thermocouple))
    discs = [
        (x, y, radius + gap_mm)
        for each in others
        for (x, y), radius in zip(
            each.shape.discs_mm(np.array([each.x, each.y]), np.array(math.radians(each.angle))),
            each.shape.radius_mm,
            strict=True,
        )
    ]
    blocked = np.vstack((kept, np.array(discs, dtype=np.float64).reshape(-1, 3)))
    turns = range(TURNS) if piece.reach_mm > 0.0 else range(1)
    for turn in turns:
        angles = np.full(len(spots), 2.0 * math.pi * turn / TURNS)
        clear = stand_clear(piece.shape, spots, angles, floor, blocked)
        if clear.any():
            x, y = spots[int(np.argmax(clear))]
            return replace(piece, x=round(float(x), 1), y=round(float(y), 1), angle=360.0 * turn / TURNS)
    return None


def stood_somewhere(
    piece: Piece, load: Load, inside: KilnInside, gap_mm: float, pieces: Sequence[Piece], shelves: Iterable[int]
) -> Piece:
    """The piece on the first of the shelves that has room for it; not loaded where none has."""
    for at in shelves:
        others = [each for each in pieces if each.shelf == at and each.key != piece.key]
        found = free_place(piece, load[at], inside, gap_mm, others)
        if found is not None:
            return replace(found, shelf=at)
    return replace(piece, shelf=OFF)


# --- read off a form --------------------------------------------------------------------------------------------------


def read_pieces(before: Sequence[Piece], posted: Mapping[str, str], shelves: int) -> list[Piece]:
    """The pieces where the boxes have them; a box that was not sent keeps the figure from before.

    Raises:
        Problems: naming every box that holds no length, angle or shelf.
    """
    found, problems = [], []
    for piece in before:
        try:
            found.append(_read(piece, posted, shelves))
        except WareboardError as problem:
            problem.where = problem.where or f"{piece.name}, {piece.form}"
            problems.append(problem)
            found.append(piece)
    if problems:
        raise Problems(problems, "Some places cannot be read")
    return found


def _read(piece: Piece, posted: Mapping[str, str], shelves: int) -> Piece:
    x, y, angle = (
        plain_number(posted.get(f"{what}-{piece.key}", f"{was}").replace("\N{MINUS SIGN}", "-"))
        for what, was in (("x", piece.x), ("y", piece.y), ("a", piece.angle))
    )
    if max(abs(x), abs(y)) > FURTHEST_MM:
        raise OutOfRange(f"{max(abs(x), abs(y)):g} mm", "no shelf reaches so far from its middle", "Give mm")
    shelf = posted.get(f"s-{piece.key}", str(piece.shelf))
    known = {str(at) for at in (*range(shelves), OFF, *((GONE,) if piece.added else ()))}
    if shelf not in known:
        raise OutOfRange(f"shelf {shelf[:12]}", "this load has no such shelf", "Choose one of the list")
    return replace(piece, shelf=int(shelf), x=x, y=y, angle=angle % 360.0)


def stood_anew(
    read: Sequence[Piece], before: Sequence[Piece], load: Load, inside: KilnInside, gap_mm: float
) -> list[Piece]:
    """The pieces, those that were given another shelf and no other place put where that shelf has room for them."""
    was = {piece.key: piece for piece in before}
    found = list(read)
    for at, piece in enumerate(found):
        old = was[piece.key]
        moved = piece.shelf >= 0 and piece.shelf != old.shelf
        if moved and (piece.x, piece.y) == (old.x, old.y):
            others = [each for each in found if each.shelf == piece.shelf and each.key != piece.key]
            found[at] = free_place(piece, load[piece.shelf], inside, gap_mm, others) or piece
    return found
