"""Wrapped pieces packed upright into boxes of one size, layer on layer, and how few boxes could do at best.

Lengths in mm, weights in g. A parcel may be turned by a right angle and is never laid down. The packing fills rows;
rows make a layer, layers stand on each other. Several orders are tried and the one with the fewest boxes is kept. The bound
is proved, the packing is not always the best there is.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange
from wareboard.given import not_negative, positive

MOST_PARCELS = 2000
MOST_TRIED = 24
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Box:
    """A box: its inside, its own weight, and the most that one may weigh when it is full."""

    width_mm: float
    depth_mm: float
    height_mm: float
    most_g: float
    own_g: float = 0.0


@dataclass(frozen=True, slots=True)
class Parcel:
    """One piece in its wrapping, as it stands in a box."""

    name: str
    width_mm: float
    depth_mm: float
    height_mm: float
    mass_g: float


@dataclass(frozen=True, slots=True)
class Placed:
    """A parcel in a box: which of those given, its near left lower corner, its width and depth as it is turned."""

    index: int
    x_mm: float
    y_mm: float
    z_mm: float
    width_mm: float
    depth_mm: float


@dataclass(frozen=True, slots=True)
class Filled:
    """One box with what stands in it, and what it weighs in all."""

    placed: tuple[Placed, ...]
    mass_g: float
    layers: int


@dataclass(frozen=True, slots=True)
class Packing:
    """The boxes, the fewest that could do, and what that is proved by."""

    boxes: tuple[Filled, ...]
    at_least: int
    by: str

    @property
    def is_fewest(self) -> bool:
        """Whether no packing needs fewer boxes."""
        return len(self.boxes) == self.at_least


def wrapped(
    name: str, width_mm: float, height_mm: float, mass_g: float, wrap_mm: float, wrap_g: float, handle_mm: float = 0.0
) -> Parcel:
    """A round piece with ``wrap_mm`` of wrapping on every side and ``wrap_g`` of it in all; its handle reaches out one way.

    Raises:
        OutOfRange: for a length or weight that cannot be.
    """
    positive(width_mm, f"width of {name}", "mm")
    positive(height_mm, f"height of {name}", "mm")
    positive(mass_g, f"weight of {name}", "g")
    around = 2.0 * not_negative(wrap_mm, "wrapping", "mm")
    long, side = width_mm + not_negative(handle_mm, f"handle of {name}", "mm") + around, width_mm + around
    return Parcel(name, long, side, height_mm + around, mass_g + not_negative(wrap_g, "weight of the wrapping", "g"))


@dataclass(slots=True)
class _Row:
    y_mm: float
    depth_mm: float
    used_mm: float = 0.0


@dataclass(slots=True)
class _Layer:
    z_mm: float
    height_mm: float
    rows: list[_Row] = field(default_factory=list)

    @property
    def deep_mm(self) -> float:
        return sum(row.depth_mm for row in self.rows)


@dataclass(slots=True)
class _Open:
    box: Box
    layers: list[_Layer] = field(default_factory=list)
    placed: list[Placed] = field(default_factory=list)
    mass_g: float = 0.0

    def take(self, index: int, parcel: Parcel) -> bool:
        """Put the parcel where it first goes; False where it does not."""
        if self.mass_g + parcel.mass_g > self.box.most_g - self.box.own_g + ROUNDING:
            return False
        for layer in self.layers:
            if parcel.height_mm <= layer.height_mm + ROUNDING and self._into(layer, index, parcel):
                return True
        high = sum(layer.height_mm for layer in self.layers)
        if high + parcel.height_mm > self.box.height_mm + ROUNDING:
            return False
        layer = _Layer(high, parcel.height_mm)
        if not self._into(layer, index, parcel):
            return False
        self.layers.append(layer)
        return True

    def _into(self, layer: _Layer, index: int, parcel: Parcel) -> bool:
        sides = dict.fromkeys(((parcel.width_mm, parcel.depth_mm), (parcel.depth_mm, parcel.width_mm)))
        for row in layer.rows:
            for wide, deep in sides:
                if deep <= row.depth_mm + ROUNDING and row.used_mm + wide <= self.box.width_mm + ROUNDING:
                    return self._put(layer, row, index, parcel, wide, deep)
        for wide, deep in sorted(sides, key=lambda turned: -self._places(layer, *turned)):
            if wide <= self.box.width_mm + ROUNDING and layer.deep_mm + deep <= self.box.depth_mm + ROUNDING:
                row = _Row(layer.deep_mm, deep)
                layer.rows.append(row)
                return self._put(layer, row, index, parcel, wide, deep)
        return False

    def _places(self, layer: _Layer, wide: float, deep: float) -> int:
        """How many like it, turned so, what is left of the layer takes: a row is begun the way that wastes least."""
        left = self.box.depth_mm - layer.deep_mm
        return math.floor(self.box.width_mm / wide + ROUNDING) * math.floor(left / deep + ROUNDING)

    def _put(self, layer: _Layer, row: _Row, index: int, parcel: Parcel, wide: float, deep: float) -> bool:
        self.placed.append(Placed(index, row.used_mm, row.y_mm, layer.z_mm, wide, deep))
        row.used_mm += wide
        self.mass_g += parcel.mass_g
        return True


ORDERS: tuple[Callable[[Parcel], tuple[float, ...]], ...] = (
    lambda each: (-each.height_mm, -each.depth_mm, -each.mass_g),
    lambda each: (-each.mass_g, -each.height_mm, -each.depth_mm),
    lambda each: (-each.depth_mm, -each.height_mm, -each.mass_g),
)


def pack(parcels: Sequence[Parcel], box: Box) -> Packing:
    """The parcels in as few boxes as were found, and the fewest that could do.

    Args:
        parcels: at most 2000.
        box: its inside and its limit.
    Raises:
        OutOfRange: for a box that cannot be, too many parcels, or a parcel that goes into no box, by its name.
    """
    _check(parcels, box)
    best: list[_Open] = []
    for order in ORDERS:
        found = _first_fit(sorted(enumerate(parcels), key=lambda each: order(each[1])), box)
        if not best or len(found) < len(best):
            best = found
    at_least, by = fewest(parcels, box)
    filled = tuple(Filled(tuple(each.placed), each.mass_g + box.own_g, len(each.layers)) for each in best)
    return Packing(filled, at_least, by)


def goes_in(parcel: Parcel, box: Box) -> bool:
    """Whether the parcel alone goes into the box, by size and weight."""
    return _has_room(parcel, box) and _may_be_carried(parcel, box)


def _has_room(parcel: Parcel, box: Box) -> bool:
    wide, deep = sorted((parcel.width_mm, parcel.depth_mm))
    room = sorted((box.width_mm, box.depth_mm))
    return wide <= room[0] + ROUNDING and deep <= room[1] + ROUNDING and parcel.height_mm <= box.height_mm + ROUNDING


def _may_be_carried(parcel: Parcel, box: Box) -> bool:
    return parcel.mass_g + box.own_g <= box.most_g + ROUNDING


def one_filled(parcels: Sequence[Parcel], wanted: Sequence[int], box: Box) -> tuple[Filled, list[int]]:
    """One box with what goes in of those wanted, asked in their order; and those that did not go in."""
    opened, left, refused = _Open(box), [], set()
    for index in wanted:
        parcel = parcels[index]
        like = (parcel.width_mm, parcel.depth_mm, parcel.height_mm, parcel.mass_g)
        if like in refused or not opened.take(index, parcel):
            refused.add(like)
            left.append(index)
    return Filled(tuple(opened.placed), opened.mass_g + box.own_g, len(opened.layers)), left


def _first_fit(parcels: Sequence[tuple[int, Parcel]], box: Box) -> list[_Open]:
    boxes: list[_Open] = []
    # A box that refused a parcel refuses every later one like it: they are not asked again.
    begin: dict[tuple[float, ...], int] = {}
    for index, parcel in parcels:
        like = (parcel.width_mm, parcel.depth_mm, parcel.height_mm, parcel.mass_g)
        at = begin.get(like, 0)
        while at < len(boxes) and not boxes[at].take(index, parcel):
            at += 1
        if at == len(boxes):
            boxes.append(_Open(box))
            boxes[at].take(index, parcel)  # it goes in: `_check` saw to that
        begin[like] = at
    return boxes


def check_box(box: Box) -> None:
    """Refuse a box that cannot be, by its name."""
    for value, name in ((box.width_mm, "width"), (box.depth_mm, "depth"), (box.height_mm, "height")):
        positive(value, f"{name} inside the box", "mm")
    positive(box.most_g, "the most a box may weigh", "g")
    not_negative(box.own_g, "weight of the empty box", "g")


def _check(parcels: Sequence[Parcel], box: Box) -> None:
    check_box(box)
    if len(parcels) > MOST_PARCELS:
        raise OutOfRange(f"{len(parcels)} pieces", f"at most {MOST_PARCELS} are packed at once", "Pack them in parts")
    for each in parcels:
        if not _has_room(each, box):
            size = f"{each.width_mm:.0f} × {each.depth_mm:.0f} × {each.height_mm:.0f} mm"
            raise OutOfRange(f"{each.name}, {size} wrapped", "it is larger than the box inside", "Choose a larger box")
        if not _may_be_carried(each, box):
            raise OutOfRange(
                f"{each.name}, {each.mass_g:.0f} g wrapped",
                f"with the box it is heavier than the limit of {box.most_g:.0f} g",
                "Raise the limit, or send it by a carrier who takes it",
            )


def fewest(parcels: Sequence[Parcel], box: Box) -> tuple[int, str]:
    """The fewest boxes that could do, whatever the packing, and what proves it; 0 where there is nothing to pack.

    Source: volumes and weights over what one box takes, rounded up, and the bound L2 of S. Martello and P. Toth, Knapsack
    Problems, Wiley 1990, section 8.3.2, on weights (from memory); places, see below.
    """
    if not parcels:
        return 0, "nothing to pack"
    room = box.width_mm * box.depth_mm * box.height_mm
    volume = math.ceil(sum(e.width_mm * e.depth_mm * e.height_mm for e in parcels) / room - ROUNDING)
    masses = [each.mass_g for each in parcels]
    heavy = _martello_toth(masses, box.most_g - box.own_g)
    places = _by_places(parcels, box)
    found = max((volume, "volume"), (heavy, "weight"), (places, "the places in a box"), key=lambda each: each[0])
    return max(1, found[0]), found[1]


def _by_places(parcels: Sequence[Parcel], box: Box) -> int:
    """The fewest boxes by places: points s apart across, h apart upward; a parcel at least s by s by h holds one.

    Parcels do not overlap, so no two hold the same point, and a box has floor(W/s) floor(D/s) floor(H/h) of them.
    """
    sides = np.array([min(each.width_mm, each.depth_mm) for each in parcels])
    heights = np.array([each.height_mm for each in parcels])
    best = 0
    for side in some_of(sides, MOST_TRIED):
        for high in some_of(heights, MOST_TRIED):
            ways = (box.width_mm / side, box.depth_mm / side, box.height_mm / high)
            places = math.prod(math.floor(each + ROUNDING) for each in ways)
            count = int(((sides >= side) & (heights >= high)).sum())
            best = max(best, math.ceil(count / places)) if places else best
    return best


def some_of(values: NDArray[np.float64], most: int) -> NDArray[np.float64]:
    """At most so many of the different values, the least and the largest among them: any of them gives a bound."""
    found = np.unique(values)
    at = np.unique(np.linspace(0, len(found) - 1, min(len(found), most)).astype(int))
    return np.asarray(found[at], dtype=np.float64)


def _martello_toth(masses: Sequence[float], limit: float) -> int:
    """L2: for each small weight a, those over limit - a stand alone, and the middling ones fill what the half-full leave."""
    best = math.ceil(sum(masses) / limit - ROUNDING)
    for least in {0.0, *(mass for mass in masses if mass <= limit / 2)}:
        alone = [mass for mass in masses if mass > limit - least]
        half = [mass for mass in masses if limit / 2 < mass <= limit - least]
        small = [mass for mass in masses if least <= mass <= limit / 2]
        left = len(half) * limit - sum(half)
        more = math.ceil((sum(small) - left) / limit - ROUNDING)
        best = max(best, len(alone) + len(half) + max(0, more))
    return best
