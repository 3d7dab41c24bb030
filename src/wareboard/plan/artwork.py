"""The pictures that a brief names, from the folder that it lies in: a mark's drawing, a painting's artwork, its tiles."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wareboard.errors import OutOfRange, Problems, Unreadable, WareboardError, placed
from wareboard.named_file import MOST_BYTES
from wareboard.plan.fields import FILE_MEND
from wareboard.plan.handwork import marks_a_piece
from wareboard.plan.marked import MarkAsked, Marked
from wareboard.plan.painted import PaintAsked, Painted
from wareboard.plan.result import FormPlan, Plan

if TYPE_CHECKING:
    from wareboard.paint.order import Rule
    from wareboard.paint.tiles import Tile
    from wareboard.plan.brief import Brief

LONGEST_TILES = 5_000_000
# Which part of a form names which files.
NAMED: Mapping[str, tuple[str, ...]] = {"carving": ("drawing",), "brushwork": ("artwork", "tiles", "rules")}


def file_beside(folder: Path, name: str, key: str) -> bytes:
    """The bytes of a file that a brief names, by its path from the brief's folder; raises as `place_beside` does."""
    place = place_beside(folder, name, key)
    try:
        return place.read_bytes()
    except OSError as problem:
        raise _cannot(key, name, problem) from None


def place_beside(folder: Path, name: str, key: str) -> Path:
    """Where a file lies that a brief names, by its path from the brief's folder.

    Raises:
        Unreadable: naming key and file, if it is not there, is no file, lies behind a link, or is larger than 80 MB.
    """
    what, place = f'{key} = "{name}"', folder
    try:
        for part in name.split("/"):
            place = place / part
            if place.is_symlink():
                raise Unreadable(what, f"{part} is a link, and a link may lead out of the brief's folder", FILE_MEND)
        if not place.exists():
            raise Unreadable(what, f"there is no such file in {folder}", "Put it there, or mend the name")
        if not place.is_file():
            raise Unreadable(what, "it is no file", FILE_MEND)
        if place.stat().st_size > MOST_BYTES:
            raise Unreadable(what, "it is larger than 80 MB", "Save a smaller picture")
    except OSError as problem:
        raise _cannot(key, name, problem) from None
    return place


def _cannot(key: str, name: str, problem: OSError) -> Unreadable:
    return Unreadable(f'{key} = "{name}"', f"it cannot be read ({problem.strerror})", "Check its name and its rights")


def cannot_be_used(forms: Sequence[object], folder: Path) -> Iterator[tuple[tuple[str | int, ...], WareboardError]]:
    """Path of the key, and what is wrong, for each file that a brief's forms name and that cannot be used.

    ``forms`` are as TOML holds them; a name that no path can have is passed over, for its field is refused already.
    """
    from wareboard.plan.brief import Brushwork, Carving

    for number, form in enumerate(forms):
        for part, model in (("carving", Carving), ("brushwork", Brushwork)):
            written = form.get(part) if isinstance(form, dict) else None
            try:
                given = model.model_validate(written) if isinstance(written, dict) else None
            except ValueError:
                continue
            for key in NAMED[part] if given is not None else ():
                name = getattr(given, key)
                try:
                    if name is not None:
                        place_beside(folder, name, key)
                except WareboardError as problem:
                    yield ("forms", number, part, key), problem


def files_named(brief: Brief) -> Iterator[tuple[str, str]]:
    """Key and path of every file that a brief names, in its order."""
    for form in brief.forms:
        for part, keys in NAMED.items():
            given = getattr(form, part)
            for key in keys if given is not None else ():
                if getattr(given, key) is None:
                    continue
                yield f"{part}.{key} of {form.name}", getattr(given, key)


def files_of(brief: Brief, folder: Path) -> dict[str, bytes]:
    """Every file that a brief names, by its path; raises `Problems` with all that are wrong."""
    found: dict[str, bytes] = {}
    problems: list[WareboardError] = []
    for key, name in files_named(brief):
        try:
            found[name] = found.get(name) or file_beside(folder, name, key)
        except WareboardError as problem:
            problems.append(problem)
    if problems:
        raise Problems(problems, "The brief names files that cannot be used")
    return found


def mark_asked(plan: Plan, form: FormPlan) -> MarkAsked:
    """What the brief asks of the mark on a form; its height is the brief's for every mark where the form has none.

    Raises:
        OutOfRange: if the form has no carving, or its size is given nowhere.
    """
    given, every = form.form.carving, plan.brief.mark
    if given is None:
        raise OutOfRange(form.name, "the brief names no drawing for it", "Add a [forms.carving] with its drawing")
    high = given.height
    if high is None and given.width is None:
        high = every.height if every else None
    if high is None and given.width is None:
        mend = 'Add height = "20 mm" beside the drawing, or in [mark]'
        raise OutOfRange(f"the mark on {form.name}", "its fired size is not given", mend)
    return MarkAsked(
        width_mm=given.width, height_mm=high, at_mm=given.at, count=marks_a_piece(form.form, plan.brief),
        groove_mm=given.groove, kind=given.kind, cut=given.cut, lay=given.lay, mirrored=given.mirrored,
        copies=given.copies, light_on_dark=given.light_on_dark,
    )  # fmt: skip


def paint_asked(form: FormPlan) -> PaintAsked:
    """What the brief asks of the painting on a form; raises OutOfRange if it names none."""
    given = form.form.brushwork
    if given is None:
        raise OutOfRange(form.name, "the brief names no artwork for it", "Add a [forms.brushwork] with its artwork")
    return PaintAsked(
        coats=given.coats, brush_mm=given.brush, off_foot_mm=given.off_foot or 0.0, off_rim_mm=given.off_rim or 0.0,
        repeats=given.repeats, inside=given.inside, over_lip=given.over_lip,
    )  # fmt: skip


def mark_on(plan: Plan, form: FormPlan, folder: Path, **changed: Any) -> Marked:
    """The mark that the brief names, on that form; ``changed`` are parts of `MarkAsked` that are asked otherwise.

    Raises:
        WareboardError: if the file cannot be used or the mark does not go there.
    """
    from wareboard.plan.marked import drawing_from, marked

    asked = replace(mark_asked(plan, form), **changed)
    assert form.form.carving is not None
    name, key = form.form.carving.drawing, f"carving.drawing of {form.name}"
    data = file_beside(folder, name, key)
    with placed(key):
        return marked(drawing_from(data, name, asked), form, asked)


def painting_on(plan: Plan, form: FormPlan, folder: Path, more_rules: Sequence[Rule] = ()) -> Painted:
    """The painting that the brief names, on that form, with the tiles it names, of the plan's glaze cone.

    ``more_rules`` hold besides those of the file of rules that the brief names, if it names one.

    Raises:
        WareboardError: if a file cannot be used or the painting cannot be.
    """
    from wareboard.paint.tiles import for_one_piece
    from wareboard.pictures import picture_from_bytes
    from wareboard.plan.painted import painted

    asked, given = paint_asked(form), form.form.brushwork
    assert given is not None
    key = f"brushwork.artwork of {form.name}"
    data = file_beside(folder, given.artwork, key)
    tiles = for_one_piece(tiles_beside(folder, given.tiles, f"brushwork.tiles of {form.name}"), **_kind(plan))
    rules = rules_beside(folder, given.rules, f"brushwork.rules of {form.name}") if given.rules else ()
    with placed(key):
        return painted(picture_from_bytes(data), tiles, form, asked, (*rules, *more_rules))


def _kind(plan: Plan) -> dict[str, str]:
    from wareboard.kiln.chart import cone_name

    return {"cone": cone_name(str(plan.glaze_firing.cone))}


def tiles_beside(folder: Path, name: str, key: str) -> tuple[Tile, ...]:
    """The tiles in a file that a brief names, with cones as the chart spells them."""
    data = file_beside(folder, name, key)
    with placed(key):
        return tiles_in(data, name)


def rules_beside(folder: Path, name: str, key: str) -> tuple[Rule, ...]:
    """The workshop's rules for painting in a file that a brief names."""
    from wareboard.paint.rule_file import read_rules

    data = file_beside(folder, name, key)
    with placed(key):
        return read_rules(list_in(data, name))


def tiles_in(data: bytes, name: str) -> tuple[Tile, ...]:
    """The tiles in the bytes of a file (TOML or CSV), with cones as the chart spells them.

    Raises:
        Unreadable: if it is no such file.
        Problems: with every tile that cannot be used.
    """
    from wareboard.kiln.chart import cone_name
    from wareboard.paint.tile_file import read_tiles

    problems: list[WareboardError] = []
    found = []
    for tile in read_tiles(list_in(data, name)):
        try:
            found.append(replace(tile, cone=cone_name(tile.cone)) if tile.cone else tile)
        except WareboardError as problem:
            problem.where = f"tile {tile.name}"
            problems.append(problem)
    if problems:
        raise Problems(problems, f"The tiles in {name} could not be used")
    return tuple(found)


def list_in(data: bytes, name: str) -> str:
    """The text of a list (TOML or CSV), also one that an older program wrote in a code page of the west."""
    if len(data) > LONGEST_TILES:
        raise Unreadable(name, "it is far too long for a list", "Give the list, not a picture")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        if b"\0" in data:
            raise Unreadable(name, "it is no text", "Give a .toml or .csv file") from None
        return data.decode("cp1252", errors="replace")
