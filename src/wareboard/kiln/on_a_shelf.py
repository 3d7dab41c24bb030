"""How one form stands on a shelf and fills a kiln by itself; the firings that no plan can do without. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.kiln.circles import KeepOut, StopSign, most_that_fit, proved_most_on
from wareboard.kiln.handled import most_handled_that_fit
from wareboard.kiln.inside import KilnInside, Kind, LoadPiece
from wareboard.kiln.levels import LevelWanted
from wareboard.kiln.shelf import Points, Shelf
from wareboard.kiln.stock import most_alike_within
from wareboard.working import Step


@dataclass(frozen=True, slots=True)
class OnOneShelf:
    """How one form loads when it has the kiln to itself."""

    form: str
    pieces_on_a_shelf: int
    stacked: int
    post_mm: float
    shelves_in_a_load: int
    pieces_in_a_load: int


@dataclass(frozen=True, slots=True, eq=False)
class Places:
    """Where equal pieces stand on one shelf: body centres (n, 2), handle angles in degrees (n,)."""

    centres_mm: Points
    handle_angles_deg: Points
    method: str
    complete: bool

    @property
    def count(self) -> int:
        """How many places there are."""
        return len(self.centres_mm)


@dataclass(frozen=True, slots=True, eq=False)
class Stand:
    """How one form stands on a shelf: places, pieces to a place, and whether it may only go on top."""

    piece: LoadPiece
    places: Places
    stacked: int
    height_mm: float
    top_only: bool
    cone_pack: bool

    @property
    def per_shelf(self) -> int:
        """How many pieces a shelf takes so, nested ones counted."""
        return self.places.count * self.stacked


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard to look for places, and who may stop it; see `most_that_fit`."""

    seconds: float = 0.0
    seed: int = 0
    stop: StopSign | None = None
    executor: Executor | None = None


def best_stand(piece: LoadPiece, kiln: KilnInside, kind: Kind, gap_mm: float, effort: Effort) -> Stand:
    """How ``piece`` stands: with posts and cones beside it if it can, and nested where that puts more into a load.

    Raises:
        OutOfRange: if the piece is larger than the shelf, or the thermocouple and the gap to the wall leave no place for it.
    """
    _refuse_too_large(piece, kiln)
    for posts, cone_pack in ((True, True), (True, False), (False, True), (False, False)):
        places = _places(piece, kiln, gap_mm, kiln.keep_outs(posts=posts, cone_pack=cone_pack), effort)
        if places.count:
            ways = [
                Stand(piece, places, stacked, piece.stack_height_mm(stacked), not posts, cone_pack)
                for stacked in range(1, _most_nested(piece, kind) + 1)
            ]
            return max(ways, key=lambda way: (alone_in_the_kiln(way, kiln).pieces_in_a_load, -way.stacked))
    raise OutOfRange(
        f"{piece.form}, {piece.turning_diameter_mm:g} mm, finds no place on the {kiln.loaded_shelf.name}",
        why="the thermocouple and the gap to the wall leave no place for it",
        mend="Give the thermocouple's true place, make the piece smaller, or fire it in a larger kiln",
    )


def _places(
    piece: LoadPiece, kiln: KilnInside, gap_mm: float, keep_outs: tuple[KeepOut, ...], effort: Effort
) -> Places:
    """Places for one form; what was worked out for the same sizes before is used again unless someone may stop it."""
    size = (piece.footprint_diameter_mm, piece.handle_reach_mm, piece.strap_mm)
    asked = (size, kiln.loaded_shelf, gap_mm, kiln.edge_mm, keep_outs)
    if effort.stop is None and effort.executor is None:
        return _places_once(*asked, effort)
    return _look_for_places(*asked, effort)


def _look_for_places(
    size_mm: tuple[float, float, float],
    shelf: Shelf,
    gap_mm: float,
    edge_mm: float,
    keep_outs: tuple[KeepOut, ...],
    effort: Effort,
) -> Places:
    body, reach, width = size_mm
    if reach > 0.0:
        handled = most_handled_that_fit(
            body,
            reach,
            width,
            shelf,
            gap_mm,
            effort.seconds,
            edge_mm=edge_mm,
            keep_outs=keep_outs,
            seed=effort.seed,
            stop=effort.stop,
            executor=effort.executor,
        )
        return Places(handled.centres_mm, handled.handle_angles_deg, handled.method, handled.complete)
    standing = most_that_fit(
        body,
        shelf,
        gap_mm,
        effort.seconds,
        edge_mm=edge_mm,
        keep_outs=keep_outs,
        seed=effort.seed,
        stop=effort.stop,
        executor=effort.executor,
    )
    return Places(standing.centres_mm, np.zeros(standing.count), standing.method, standing.complete)


_places_once: Callable[..., Places] = lru_cache(maxsize=512)(_look_for_places)


def _most_nested(piece: LoadPiece, kind: Kind) -> int:
    return piece.nest_at_most if kind == "bisque" and piece.nests else 1


def _refuse_too_large(piece: LoadPiece, kiln: KilnInside) -> None:
    shelf, wide = kiln.loaded_shelf, piece.footprint_diameter_mm
    if shelf.floor().inset(kiln.edge_mm + wide / 2.0).holds_nothing():
        whole = kiln.halves and not kiln.shelf.floor().inset(kiln.edge_mm + wide / 2.0).holds_nothing()
        raise OutOfRange(
            f"{piece.form} is {wide:g} mm wide",
            why=f"it does not stand on the {shelf.name}",
            mend="Use whole shelves for it" if whole else "Make it smaller, or fire it in a larger kiln",
        )
    most = kiln.height_for_shelves_mm - shelf.thickness_mm - kiln.top_gap_mm
    if piece.height_mm > most + 1e-9:
        raise OutOfRange(
            f"{piece.form} is {piece.height_mm:g} mm tall",
            why=f"above bottom post and shelf, and below the lid, {most:g} mm are left",
            mend="Make it lower, use a shorter bottom post or a thinner shelf, or fire it in a taller kiln",
        )


def alone_in_the_kiln(stand: Stand, kiln: KilnInside) -> OnOneShelf:
    """How many go into a load that holds nothing else, on the shelves and posts that there are."""
    thick, post, shelves = kiln.loaded_shelf.thickness_mm, *_shelves_by_height(stand, kiln)
    if kiln.stock is not None:
        top_mm = stand.height_mm + kiln.top_gap_mm
        level = LevelWanted(0, "", (top_mm, ""), post, top_mm, stand.top_only or math.isinf(post))
        room = (kiln.height_for_shelves_mm, thick, kiln.columns)
        shelves = most_alike_within(level, shelves, kiln.stock, *room)
    return OnOneShelf(stand.piece.form, stand.per_shelf, stand.stacked, post, shelves, shelves * stand.per_shelf)


def _shelves_by_height(stand: Stand, kiln: KilnInside) -> tuple[float, int]:
    """The post that the ware needs, and how many shelves of nothing else the kiln is high enough for."""
    thick = kiln.loaded_shelf.thickness_mm
    post = kiln.post_for(stand.height_mm + kiln.top_gap_mm)
    over = kiln.height_for_shelves_mm - thick - stand.height_mm - kiln.top_gap_mm
    if over < -1e-9:
        shelves = 0
    elif stand.top_only or math.isinf(post):
        shelves = 1
    else:
        shelves = math.floor(over / (thick + post) + 1e-9) + 1
    return post, shelves * kiln.columns


def bound_by_room_and_count(
    pieces: Sequence[LoadPiece], kiln: KilnInside, kind: Kind, gap_mm: float
) -> tuple[int, tuple[Step, ...]]:
    """Firings that no plan under these rules can do without, by room and by height, with the working.

    By room: a shelf's floor times the height that it takes is no less than the same for its pieces, each with its handle and
    half the gap all round, which no other piece may enter.
    By height: of the pieces at least as wide as some width, a shelf holds no more than the proved most of that width,
    so each piece takes at least that share of a shelf's height; the width that asks for most firings counts.
    Both are asked once by the ware's own heights and once by the posts that there are, whichever asks for more.
    """
    if not pieces:
        return 0, ()
    floor = kiln.loaded_shelf.floor().inset(kiln.edge_mm - gap_mm / 2.0)
    asked = [_asked(pieces, kiln, kind, gap_mm, floor.area_mm2(), on_posts) for on_posts in (False, True)]
    most = max(asked, key=lambda each: each.firings)
    return most.firings, _bound_steps(most, kiln)


@dataclass(frozen=True, slots=True)
class _Asked:
    """What the pieces ask of room and height, and what a load has of both."""

    area_mm2: float
    height_mm: float
    need_mm3: float
    by_room: int
    widest_mm: float
    stack_mm: float
    by_height: int

    @property
    def firings(self) -> int:
        return max(self.by_room, self.by_height)


def _asked(
    pieces: Sequence[LoadPiece], kiln: KilnInside, kind: Kind, gap_mm: float, area_mm2: float, on_posts: bool
) -> _Asked:
    """By the ware's own heights; or ``on_posts`` by the posts that carry the next shelf, which the top shelf alone saves."""
    saved = _saved_on_top_mm(pieces, kiln, kind) if on_posts else 0.0
    height = kiln.height_for_shelves_mm + saved
    share = {piece.form: piece.count * _least_level_mm(piece, kiln, kind, on_posts) for piece in pieces}
    need = sum(piece.least_floor_mm2(gap_mm) * share[piece.form] for piece in pieces)
    shelf_heights = {
        wide: sum(share[piece.form] for piece in pieces if piece.footprint_diameter_mm >= wide)
        / _proved_on_shelf(wide, kiln, gap_mm)
        for wide in {piece.footprint_diameter_mm for piece in pieces}
    }
    widest = max(shelf_heights, key=lambda wide: (shelf_heights[wide], wide))
    stack = shelf_heights[widest]
    return _Asked(
        area_mm2,
        height,
        need,
        math.ceil(need / (area_mm2 * height * kiln.columns) - 1e-9),
        widest,
        stack,
        math.ceil(stack / (height * kiln.columns) - 1e-9),
    )


def _tops_mm(piece: LoadPiece, kiln: KilnInside, kind: Kind) -> list[float]:
    """Ware and gap of one piece, and of those that may nest, mm."""
    return [kiln.top_gap_mm + piece.stack_height_mm(k) for k in range(1, _most_nested(piece, kind) + 1)]


def _saved_on_top_mm(pieces: Sequence[LoadPiece], kiln: KilnInside, kind: Kind) -> float:
    """The most that a column saves because nothing stands on its top shelf, mm."""
    tops = [top for piece in pieces for top in _tops_mm(piece, kiln, kind)]
    return max((post - top for top in tops if math.isfinite(post := kiln.post_for(top))), default=0.0)


def _least_level_mm(piece: LoadPiece, kiln: KilnInside, kind: Kind, on_posts: bool) -> float:
    """Least height of shelf that one piece answers for: shelf, ware and gap, shared by those nested together."""
    tops = _tops_mm(piece, kiln, kind)
    takes = [post if on_posts and math.isfinite(post := kiln.post_for(top)) else top for top in tops]
    return min((kiln.loaded_shelf.thickness_mm + take) / k for k, take in enumerate(takes, 1))


def _proved_on_shelf(wide_mm: float, kiln: KilnInside, gap_mm: float) -> int:
    room = kiln.loaded_shelf.floor().inset(kiln.edge_mm + wide_mm / 2.0)
    return max(1, proved_most_on(kiln.loaded_shelf, wide_mm + gap_mm, room))


def _bound_steps(asked: _Asked, kiln: KilnInside) -> tuple[Step, ...]:
    by_room, by_height = asked.by_room, asked.by_height
    given = {"height": asked.height_mm, "columns": kiln.columns}
    return (
        Step(
            "room that the pieces need",
            "",
            {},
            asked.need_mm3,
            "derived",
            "mm³",
            how="body, handle and gap × height and shelf",
        ),
        Step(
            "firings needed by room",
            "ceil(need / (area * height * columns) - 0.000000001)",
            {"need": asked.need_mm3, "area": asked.area_mm2, **given},
            float(by_room),
            "derived",
            "firings",
        ),
        Step(
            "height of shelves that the wide pieces need",
            "",
            {"width": asked.widest_mm},
            asked.stack_mm,
            "groemer-oler",
            "mm",
            how="each piece's own height with shelf and gap, over the proved most of that width on a shelf",
        ),
        Step(
            "firings needed by height",
            "ceil(stack / (height * columns) - 0.000000001)",
            {"stack": asked.stack_mm, **given},
            float(by_height),
            "derived",
            "firings",
        ),
        Step(
            "firings that no plan can do without",
            "max(by_room, by_height)",
            {"by_room": by_room, "by_height": by_height},
            float(asked.firings),
            "derived",
            "firings",
        ),
    )


def load_steps(
    stands: Sequence[Stand], by_form: Sequence[OnOneShelf], firings: int, kind: Kind, kiln: KilnInside, how: str
) -> tuple[Step, ...]:
    """What each form does alone, and the firings, with ``how`` they were dealt."""
    steps: list[Step] = []
    for stand, alone in zip(stands, by_form, strict=True):
        form = stand.piece.form
        steps += [
            Step(
                f"{form}: places on one shelf",
                "",
                {"diameter": stand.piece.footprint_diameter_mm, "handle": stand.piece.handle_reach_mm},
                float(stand.places.count),
                "derived",
                "places",
                how=stand.places.method,
            ),
            Step(
                f"{form}: pieces on one shelf",
                "places * stacked",
                {"places": stand.places.count, "stacked": stand.stacked},
                float(stand.per_shelf),
                "ll-loading",
                "pieces",
            ),
        ]
        if not (stand.top_only or math.isinf(alone.post_mm)):
            steps.append(_shelves_step(stand, alone, kiln))
        steps.append(
            Step(
                f"{form}: pieces in a load of nothing else",
                "pieces * shelves",
                {"pieces": stand.per_shelf, "shelves": alone.shelves_in_a_load},
                float(alone.pieces_in_a_load),
                "derived",
                "pieces",
            )
        )
    steps.append(
        Step(
            f"{kind} firings",
            "",
            {"forms": len(stands)},
            float(firings),
            "common-practice",
            "firings",
            how=how,
            key=f"load.{kind}.firings",
        )
    )
    return tuple(steps)


def _shelves_step(stand: Stand, alone: OnOneShelf, kiln: KilnInside) -> Step:
    inputs: dict[str, float] = {
        "height": kiln.height_for_shelves_mm,
        "thick": kiln.loaded_shelf.thickness_mm,
        "ware": stand.height_mm,
        "gap": kiln.top_gap_mm,
        "post": alone.post_mm,
        "columns": kiln.columns,
    }
    formula = "(floor((height - thick - ware - gap) / (thick + post) + 0.000000001) + 1) * columns"
    how = ""
    if alone.shelves_in_a_load < _shelves_by_height(stand, kiln)[1]:
        inputs["owned"] = alone.shelves_in_a_load
        formula, how = f"min({formula}, owned)", "as many as the shelves and posts that there are carry"
    name = f"{stand.piece.form}: shelves in a load of nothing else"
    return Step(name, formula, inputs, float(alone.shelves_in_a_load), "derived", "shelves", how=how)
