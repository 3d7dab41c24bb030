"""The pictures that a brief names, kept in the records with the commission that was begun from it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from wareboard.book.firings.signing import Signed
from wareboard.book.models import Commission
from wareboard.book.prototypes import pictures, tiles
from wareboard.book.prototypes.models import MARK, PAINTING

if TYPE_CHECKING:
    from wareboard.plan.brief import Brief, Form

# Boxes whose words are those of the brief's own keys; the others are lengths.
MARK_LENGTHS, MARK_WORDS = ("width", "height", "at", "groove"), ("count", "kind", "cut", "lay", "copies")
PAINT_LENGTHS, PAINT_WORDS = ("brush", "off_foot", "off_rim"), ("coats", "repeats")


def keep_named(commission: Commission, brief: Brief, folder: Path, by: Signed) -> list[str]:
    """Keep the drawing, the artwork and the tiles that the brief names from its ``folder``; what was left out, in words.

    A commission holds one mark and one painting: those of the first form that names them.

    Raises:
        WareboardError: if a file cannot be used; nothing of it is kept then.
    """
    left = []
    for part, keep in (("carving", _mark), ("brushwork", _painting)):
        forms = [form for form in brief.forms if getattr(form, part) is not None]
        if forms:
            keep(commission, brief, forms[0], folder, by)
        left += [f"the {part} of {form.name}: a commission holds one in the studio" for form in forms[1:]]
    return left


def _mark(commission: Commission, brief: Brief, form: Form, folder: Path, by: Signed) -> None:
    from wareboard.plan.artwork import file_beside

    given = form.carving
    assert given is not None
    data = file_beside(folder, given.drawing, f"carving.drawing of {form.name}")
    boxes = _boxes(given, MARK_LENGTHS, MARK_WORDS) | {"form": form.name, "paper": "a4"}
    if given.height is None and given.width is None and brief.mark is not None and brief.mark.height:
        boxes["height"] = f"{brief.mark.height:g} mm"
    boxes.setdefault("count", str(max(1, form.marks)))
    boxes |= {name: "on" for name in ("mirrored", "light_on_dark") if getattr(given, name)}
    pictures.keep(commission, MARK, (data, _name(given.drawing)), boxes, by)


def _painting(commission: Commission, brief: Brief, form: Form, folder: Path, by: Signed) -> None:
    from wareboard.paint.rule_lines import as_lines
    from wareboard.plan.artwork import file_beside, rules_beside, tiles_beside

    given = form.brushwork
    assert given is not None
    data = file_beside(folder, given.artwork, f"brushwork.artwork of {form.name}")
    for tile in tiles_beside(folder, given.tiles, f"brushwork.tiles of {form.name}"):
        fields = {key: getattr(tile, key) for key in tiles.PLAIN}
        for stage, colour in ((tiles.RAW, tile.raw), (tiles.FIRED, tile.fired)):
            if colour is not None:
                tiles.add_colour(tile.name, fields, stage, colour.lab, f"from {_name(given.tiles)}", by)
    boxes = _boxes(given, PAINT_LENGTHS, PAINT_WORDS) | {"form": form.name} | ({"inside": "on"} if given.inside else {})
    if given.rules:
        boxes["rules"] = as_lines(rules_beside(folder, given.rules, f"brushwork.rules of {form.name}"))
    pictures.keep(commission, PAINTING, (data, _name(given.artwork)), boxes, by)


def _boxes(given: object, lengths: tuple[str, ...], plain: tuple[str, ...]) -> dict[str, str]:
    held = {name: getattr(given, name) for name in (*lengths, *plain)}
    return {name: f"{value:g} mm" if name in lengths else str(value) for name, value in held.items() if value}


def _name(path: str) -> str:
    return path.rpartition("/")[2]
