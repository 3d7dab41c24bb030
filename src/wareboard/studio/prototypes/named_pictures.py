"""The pictures that a brief names, kept in the records with the commission that was begun from it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from wareboard.book.firings.signing import Signed
from wareboard.book.models import Commission
from wareboard.book.prototypes import pictures, tiles
from wareboard.book.prototypes.models import MARK, PAINTING, ClientPicture
from wareboard.studio.printed import paper_here

if TYPE_CHECKING:
    from wareboard.plan.brief import Brief, Form

# Boxes whose words are those of the brief's own keys; the others are lengths.
MARK_LENGTHS, MARK_WORDS = ("width", "height", "at", "groove"), ("count", "kind", "cut", "lay", "copies")
PAINT_LENGTHS, PAINT_WORDS = ("brush", "off_foot", "off_rim"), ("coats", "repeats")


def keep_named(commission: Commission, brief: Brief, folder: Path, by: Signed) -> None:
    """Keep the drawings, the artworks and the tiles that the brief names for its forms from its ``folder``.

    Where two forms name one file, the second's is kept as the same as the first's.

    Raises:
        WareboardError: if a file cannot be used; nothing of it is kept then.
    """
    known: dict[tuple[str, str], ClientPicture] = {}
    for form in brief.forms:
        if form.carving is not None:
            first = known.get((MARK, form.carving.drawing))
            known.setdefault((MARK, form.carving.drawing), _mark(commission, brief, form, folder, by, first))
        if form.brushwork is not None:
            first = known.get((PAINTING, form.brushwork.artwork))
            known.setdefault((PAINTING, form.brushwork.artwork), _painting(commission, form, folder, by, first))


def _mark(
    commission: Commission, brief: Brief, form: Form, folder: Path, by: Signed, first: ClientPicture | None
) -> ClientPicture:
    from wareboard.plan.artwork import file_beside

    given = form.carving
    assert given is not None
    data = b"" if first else file_beside(folder, given.drawing, f"carving.drawing of {form.name}")
    boxes = _boxes(given, MARK_LENGTHS, MARK_WORDS) | {"paper": paper_here()}
    if given.height is None and given.width is None and brief.mark is not None and brief.mark.height:
        boxes["height"] = f"{brief.mark.height:g} mm"
    boxes.setdefault("count", str(max(1, form.marks)))
    boxes |= {name: "on" for name in ("mirrored", "light_on_dark") if getattr(given, name)}
    sent = None if first else (data, _name(given.drawing))
    return pictures.keep(commission, MARK, form.name, sent, boxes, by, same_as=first)


def _painting(
    commission: Commission, form: Form, folder: Path, by: Signed, first: ClientPicture | None
) -> ClientPicture:
    from wareboard.paint.rule_lines import as_lines
    from wareboard.plan.artwork import file_beside, rules_beside, tiles_beside

    given = form.brushwork
    assert given is not None
    data = b"" if first else file_beside(folder, given.artwork, f"brushwork.artwork of {form.name}")
    for tile in tiles_beside(folder, given.tiles, f"brushwork.tiles of {form.name}"):
        fields = {key: getattr(tile, key) for key in tiles.PLAIN}
        for stage, colour in ((tiles.RAW, tile.raw), (tiles.FIRED, tile.fired)):
            if colour is not None:
                tiles.add_colour(tile.name, fields, stage, colour.lab, f"from {_name(given.tiles)}", by)
    boxes = _boxes(given, PAINT_LENGTHS, PAINT_WORDS) | {
        name: "on" for name in ("inside", "over_lip") if getattr(given, name)
    }
    if given.rules:
        boxes["rules"] = as_lines(rules_beside(folder, given.rules, f"brushwork.rules of {form.name}"))
    sent = None if first else (data, _name(given.artwork))
    return pictures.keep(commission, PAINTING, form.name, sent, boxes, by, same_as=first)


def _boxes(given: object, lengths: tuple[str, ...], plain: tuple[str, ...]) -> dict[str, str]:
    held = {name: getattr(given, name) for name in (*lengths, *plain)}
    return {name: f"{value:g} mm" if name in lengths else str(value) for name, value in held.items() if value}


def _name(path: str) -> str:
    return path.rpartition("/")[2]
