"""Tiles by colour: a photograph's colours written to a tile, and the tiles as the paint room knows them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.db import transaction

from wareboard.book.firings import signing
from wareboard.book.firings.signing import Signed
from wareboard.book.prototypes.models import ColourTile
from wareboard.paint.tiles import Tile, colour

RAW, FIRED = "raw", "fired"
PLAIN = ("glaze", "coats", "over", "over_coats", "body", "cone", "runs", "note")


def add_colour(
    name: str, fields: Mapping[str, Any], stage: str, lab: Sequence[float], how: str, by: Signed
) -> ColourTile:
    """The tile of that name with one more photographed colour, raw or fired.

    Raises:
        OutOfRange: if its coats cannot be, or the colour is none.
    """
    value = [round(float(part), 3) for part in lab]
    colour([value])
    with transaction.atomic():
        held = ColourTile.objects.select_for_update().filter(name=name).first()
        plain = {key: fields[key] for key in PLAIN if key in fields}
        if held is None:
            new = ColourTile(name=name, how=how[:200], **plain)
            setattr(new, stage, [value])
            _as_tile(new, allow_unfired=True)
            return signing.begin(new, f"{stage.capitalize()} colour", by)
        more = {**plain, stage: [*getattr(held, stage), value], "how": how[:200], "put_away": None}
        for key, each in more.items():
            setattr(held, key, each)
        _as_tile(held, allow_unfired=True)
        return signing.change(held, more, f"{stage.capitalize()} colour", by)


def tiles_now() -> tuple[Tile, ...]:
    """Every tile with a fired colour."""
    rows = ColourTile.objects.filter(put_away=None)
    return tuple(_as_tile(row) for row in rows if row.fired)


def _as_tile(row: ColourTile, allow_unfired: bool = False) -> Tile:
    seen = row.fired or (row.raw if allow_unfired else [])
    return Tile(
        row.name, row.glaze, colour(seen), colour(row.raw) if row.raw else None, coats=row.coats, over=row.over,
        over_coats=row.over_coats, body=row.body, cone=row.cone, runs=row.runs, note=row.note,
    )  # fmt: skip
