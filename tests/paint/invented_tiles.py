"""Invented tiles: no workshop's own."""

from __future__ import annotations

from wareboard.paint.tiles import Tile, colour

PINK = colour([82, 18, 8])


def tile(name: str, lab: tuple[float, float, float], **more: object) -> Tile:
    return Tile(name, str(more.pop("glaze", name)), colour(lab), raw=PINK, **more)  # type: ignore[arg-type]


BODY = Tile("bare body", "", colour([86, 2, 10]), coats=0)
TILES = (
    BODY,
    tile("honey", (60, 15, 48)),
    tile("iron red", (38, 34, 26)),
    tile("leaf", (50, -22, 22)),
    tile("deep blue", (34, 8, -40)),
    tile("black", (20, 0, 0)),
    tile("sky", (68, -6, -22)),
    tile("celadon over iron red", (45, 8, 14), glaze="celadon", coats=2, over="iron red", over_coats=3),
)
