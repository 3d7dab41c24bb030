"""A brief from TOML, with every problem at once, each with its field, line, reason and mend; and back to TOML."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Iterator, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from wareboard.errors import OutOfRange, Problems, Unreadable, WareboardError, as_written
from wareboard.plan.bare_sizes import sizes_without_a_unit
from wareboard.plan.brief import Brief
from wareboard.plan.fields import Fields
from wareboard.plan.own import Own, shrinkage_key
from wareboard.plan.stages import KINDS_OF_FORM, STAGES, TASKS
from wareboard.plan.workshop import Kiln, Workshop
from wareboard.quantities import in_inches, length_mm

Model = TypeVar("Model", bound=Fields)
TABLE = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(?:#.*)?$")
KEY = re.compile(r"""^\s*((?:"[^"]*"|'[^']*'|[\w-]+)(?:\s*\.\s*(?:"[^"]*"|'[^']*'|[\w-]+))*)\s*=""")
LONGEST_SIZE_MM = 1200.0
ONE_CLAY = (
    "a brief is made of one clay body, because its loads, its clay to buy and its shrinkage go together",
    "Write one brief for each clay, with the forms made of it, and [clay] once in each",
)
PLAIN_REASONS: Mapping[str, tuple[str, str]] = {
    "missing": ("it is needed and not there", "Add it"),
    "too_short": ("there is none", "Add one"),
    "too_long": ("there are too many", "Take some out, or split the commission"),
    "string_too_short": ("it is empty", "Write a name"),
    "string_too_long": ("it is too long", "Shorten it"),
    "string_type": ("it is not words", "Put it in quotation marks"),
    "bool_type": ("it is neither true nor false", "Write true or false"),
    "bool_parsing": ("it is neither true nor false", "Write true or false"),
    "model_type": (
        "it holds fields of its own",
        "Write it as a table, such as [clay] with its fields on the lines below",
    ),
    "dict_type": ("it holds names and figures", 'Write it like { "whiting" = 20, "kaolin" = 10 }'),
    "tuple_type": ("it is a list", "Write it as [[forms]] or [a, b], one for each"),
    "int_type": ("it is not a whole number", "Write digits"),
    "int_parsing": ("it is not a whole number", "Write digits"),
    "int_from_float": ("it is not a whole number", "Write digits"),
    "greater_than_equal": ("it is too small", "Write a larger one"),
    "less_than_equal": ("it is too large", "Write a smaller one"),
}


def read_brief(
    text: str,
    workshop: Workshop | None = None,
    today: date | None = None,
    own: Own | None = None,
    clay_from_records: bool = False,
    folder: Path | None = None,
) -> Brief:
    """The brief that ``text`` (TOML) holds.

    Args:
        text: the file's text.
        workshop: what the workshop has; a piece too wide for its kilns is refused.
        today: for refusing dates that are past; None leaves dates unchecked.
        own: what the workshop's records teach; a clay that they know needs no stated shrinkage.
        clay_from_records: any named clay may go without a stated shrinkage; whoever plans it must know its records.
        folder: where the brief lies; files that it names are looked for there. None leaves them unlooked for.
    Raises:
        Problems: with one error for each thing that is wrong, so that all can be mended in one go.
    """
    data = _parsed(text)
    lines = line_of_each_key(text)
    problems = [*_field_problems(Brief, data, lines), *_cross_problems(data, workshop, today, lines)]
    problems += sizes_without_a_unit(data, workshop, lambda path: _where(path, lines))
    problems += _files_that_cannot_be_used(data, folder, lines) if folder else ()
    if not _shrinkage_known(data.get("clay"), own, clay_from_records):
        problems.append(
            Unreadable(
                "the clay's shrinkage",
                "it is needed and not there",
                'Add shrinkage = "12 %", or measured bars',
                _where(("clay",), lines),
            )
        )
    if problems:
        raise Problems(problems, what="The brief cannot be planned yet")
    return Brief.model_validate(data)


def read_workshop(text: str, today: date | None = None) -> Workshop:
    """The workshop that ``text`` (TOML) holds; raises `Problems` as `read_brief` does."""
    data = _parsed(text)
    lines = line_of_each_key(text)
    problems = [
        *_field_problems(Workshop, data, lines),
        *_unknown_stages_and_tasks(data.get("own"), ("own",), lines, kinds=True),
    ]
    if problems:
        raise Problems(problems, what="The workshop's file cannot be read yet")
    return Workshop.model_validate(data).model_copy(update={"today": today} if today else {})


def _parsed(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        place = re.search(r"line (\d+)", str(problem))
        reason = re.sub(r"\s*\(at .*\)$", "", str(problem))
        raise Problems(
            [
                Unreadable(
                    "the file is not TOML",
                    reason[:1].lower() + reason[1:],
                    'Each line reads name = "value"; words go in quotation marks',
                    where=f"line {place[1]}" if place else "",
                )
            ]
        ) from None
    except (RecursionError, ValueError):
        raise Problems(
            [Unreadable("the file is not TOML", "a list in it is far too deep, or a number far too long", "Shorten it")]
        ) from None


def line_of_each_key(text: str) -> dict[tuple[str | int, ...], int]:
    """The line, counted from 1, on which each table and key of a TOML text begins, by its path."""
    found: dict[tuple[str | int, ...], int] = {}
    seen: dict[tuple[str, ...], int] = {}
    here: tuple[str | int, ...] = ()
    for number, line in enumerate(text.splitlines(), start=1):
        table = TABLE.match(line)
        if table:
            names = _names(table[2])
            path: list[str | int] = []
            for depth, name in enumerate(names, start=1):
                path.append(name)
                stem = tuple(names[:depth])
                if table[1] == "[[" and depth == len(names):
                    seen[stem] = seen.get(stem, -1) + 1
                if stem in seen:
                    path.append(seen[stem])
            here = tuple(path)
            found.setdefault(here, number)
            continue
        key = KEY.match(line)
        if key:
            found.setdefault((*here, *_names(key[1])), number)
    return found


def _names(dotted: str) -> list[str]:
    return [part.strip("\"'") for part in re.findall(r"\"[^\"]*\"|'[^']*'|[\w-]+", dotted)]


def _where(path: tuple[str | int, ...], lines: Mapping[tuple[str | int, ...], int]) -> str:
    name = ""
    for part in path:
        name += f" {part + 1}" if isinstance(part, int) else (f", {part}" if name else str(part))
    for end in range(len(path), 0, -1):
        if path[:end] in lines:
            return f"{name}, line {lines[path[:end]]}"
    return name


def _field_problems(
    model: type[BaseModel], data: Mapping[str, Any], lines: Mapping[tuple[str | int, ...], int]
) -> Iterator[WareboardError]:
    try:
        model.model_validate(data)
    except ValidationError as caught:
        entries = caught.errors()
        for entry in entries:
            inside = [other for other in entries if other["loc"][: len(entry["loc"])] == entry["loc"]]
            if entry["type"] == "too_short" and len(inside) > 1:
                continue  # there is one, but it is wrong, and that is said
            yield _as_error(entry, model, _where(entry["loc"], lines))


def _as_error(entry: Any, model: type[BaseModel], where: str) -> WareboardError:
    path, kind = entry["loc"], entry["type"]
    inner = entry.get("ctx", {}).get("error")
    if isinstance(inner, WareboardError):
        return type(inner)(inner.what, inner.why, inner.mend, where)
    if kind == "extra_forbidden":
        known = sorted(_known_names(model))
        near = difflib.get_close_matches(str(path[-1]), known, n=1)
        mend = (
            f"Write {near[0]!r}, if that is meant"
            if near
            else "Take it out, or see the list of fields in docs/brief.md"
        )
        return Unreadable(f"{path[-1]!r}", "no field has this name", mend.rstrip("."), where)
    if kind == "literal_error":
        return Unreadable(
            repr(entry["input"]), "it is not one of the words known here", f"Write {entry['ctx']['expected']}", where
        )
    if path == ("clay",) and isinstance(entry["input"], list) and len(entry["input"]) > 1:
        return Unreadable(f"{len(entry['input'])} clays", *ONE_CLAY, where)
    why, mend = PLAIN_REASONS.get(kind, (str(entry["msg"]).lower(), "See docs/brief.md for what it may hold"))
    named = kind in ("missing", "too_short", "too_long") and isinstance(path[-1], str)
    return Unreadable(str(path[-1]) if named else as_written(entry["input"]), why, mend, where)


def _known_names(model: type[BaseModel]) -> Iterator[str]:
    for name, info in model.model_fields.items():
        yield name
        for inner in re.findall(r"wareboard\.plan\.\w+\.(\w+)", str(info.annotation)):
            part = next((known for known in Fields.__subclasses__() if known.__name__ == inner), None)
            if part is not None and part is not model:
                yield from part.model_fields


def _valid(model: type[Model], data: object) -> Model | None:
    try:
        return model.model_validate(data)
    except ValidationError:
        return None


def _shrinkage_known(clay: object, own: Own | None, from_records: bool) -> bool:
    """Whether the brief states or measures the clay's shrinkage, or the workshop's records know the clay."""
    if not isinstance(clay, dict) or {"shrinkage", "shrinkage_height", "shrinkage_width", "measured"} & clay.keys():
        return True
    name = str(clay.get("name") or "").strip()
    if not name:
        return False
    ways = ("height", "width")
    return from_records or (own is not None and all(own.get(shrinkage_key(way, name)) for way in ways))


def _cross_problems(
    data: Mapping[str, Any], workshop: Workshop | None, today: date | None, lines: Mapping[tuple[str | int, ...], int]
) -> Iterator[WareboardError]:
    """What is wrong between fields; looked for even where other fields are wrong, so that it is said in the same go."""
    due, start = _day_or_none(data.get("due")), _day_or_none(data.get("start"))
    if due and today and due <= today:
        yield OutOfRange(
            str(due),
            f"it is {'past' if due < today else 'today'} (today is {today})",
            "Write the date that is wanted now",
            _where(("due",), lines),
        )
    if due and start and start >= due:
        yield OutOfRange(
            str(start), f"work would start after it is due ({due})", "Write an earlier start", _where(("start",), lines)
        )
    yield from _too_big_for_the_kilns(data, workshop, lines)
    yield from _glazes_for_unknown_forms(data, lines)
    for number, form in enumerate(_listed(data, "forms")):
        yield from _unknown_stages_and_tasks(form, ("forms", number), lines)


def _unknown_stages_and_tasks(
    own: object, at: tuple[str | int, ...], lines: Mapping[tuple[str | int, ...], int], kinds: bool = False
) -> Iterator[WareboardError]:
    """A misspelt stage or task: without a word it would leave the usual figure standing and the person's own unused."""
    for field, known in (("good", STAGES), ("minutes", TASKS)):
        written = own.get(field) if isinstance(own, dict) else None
        for name in written if isinstance(written, dict) else ():
            kind, dot, last = str(name).rpartition(".")
            if last in known and (not dot or (kinds and kind in KINDS_OF_FORM)):
                continue
            near = difflib.get_close_matches(last, known, n=1)
            yield Unreadable(
                repr(name),
                f"no {'stage' if field == 'good' else 'task'} has this name",
                f"Write {near[0]}, if that is meant" if near else f"Write one of: {', '.join(known)}",
                _where((*at, field, str(name)), lines),
            )


def _day_or_none(written: object) -> date | None:
    try:
        return written.date() if isinstance(written, datetime) else date.fromisoformat(str(written).strip())
    except ValueError:  # told already, as a problem of its field
        return None


def _listed(data: Mapping[str, Any], key: str) -> list[Any]:
    found = data.get(key)
    return found if isinstance(found, list) else []


def _too_big_for_the_kilns(
    data: Mapping[str, Any], workshop: Workshop | None, lines: Mapping[tuple[str | int, ...], int]
) -> Iterator[WareboardError]:
    from wareboard.plan.assume import roomiest

    kilns = [kiln for entry in _listed(data, "kilns") if (kiln := _valid(Kiln, entry))]
    width_mm, height_mm = roomiest(tuple(kilns) or (workshop.kilns if workshop else ()))
    for number, entry in enumerate(_listed(data, "forms")):
        if not isinstance(entry, dict):
            continue
        for field, room in (("rim", width_mm), ("belly", width_mm), ("height", height_mm)):
            size = _length_or_none(entry.get(field))
            if size is not None and room < size <= LONGEST_SIZE_MM:  # a longer one is refused as no length of a piece
                yield OutOfRange(
                    f"{entry.get('name', 'piece')}: {size:.0f} mm",
                    f"the largest kiln takes {room:g} mm",
                    "Check the size and its unit, or add the kiln that it is to be fired in",
                    _where(("forms", number, field), lines),
                )


def _files_that_cannot_be_used(
    data: Mapping[str, Any], folder: Path, lines: Mapping[tuple[str | int, ...], int]
) -> Iterator[WareboardError]:
    from wareboard.plan.artwork import cannot_be_used

    for path, problem in cannot_be_used(_listed(data, "forms"), folder):
        problem.where = _where(path, lines)
        yield problem


def _length_or_none(written: Any) -> float | None:
    try:
        return length_mm(written)
    except WareboardError:  # told already, as a problem of its field
        return None


def _glazes_for_unknown_forms(
    data: Mapping[str, Any], lines: Mapping[tuple[str | int, ...], int]
) -> Iterator[WareboardError]:
    names = [str(entry.get("name", "piece")) for entry in _listed(data, "forms") if isinstance(entry, dict)]
    for number, entry in enumerate(_listed(data, "glazes")):
        wanted = entry.get("forms", []) if isinstance(entry, dict) else []
        for name in wanted if isinstance(wanted, list) else [wanted]:
            if isinstance(name, str) and name not in names:
                yield Unreadable(
                    repr(name),
                    "no form of this brief has that name",
                    f"Write one of: {', '.join(names)}",
                    _where(("glazes", number, "forms"), lines),
                )


def to_toml(brief: Fields) -> str:
    """The brief (or workshop) as TOML that reads back to the same; sizes in base units, sections in the model's order."""
    import tomlkit

    def plain(value: Any) -> Any:
        if isinstance(value, Mapping):
            return {str(key): plain(part) for key, part in value.items() if part is not None}
        if isinstance(value, list | tuple):
            return [plain(part) for part in value]
        return value

    data = plain(brief.model_dump(mode="json", exclude_unset=True, exclude_none=True))
    for day in ("due", "start"):
        if day in data:
            data[day] = date.fromisoformat(data[day])
    document = tomlkit.document()
    # Plain keys before tables: TOML would otherwise take them for part of the table above.
    for key in sorted(data, key=lambda name: isinstance(data[name], dict | list) and bool(data[name])):
        document.add(key, tomlkit.item(data[key]))
    return tomlkit.dumps(document)


def four_number_brief(*, height: str | None, rim: str | None, shrinkage: str, count: str, due: str, name: str) -> str:
    """The TOML of a brief from the four things that a plan needs, as they were typed.

    What was typed is kept as typed; `read_brief` says what is wrong with it. Sizes typed in inches are answered in inches.
    """
    import tomlkit

    document = tomlkit.document()
    document.add(tomlkit.comment("A brief from four numbers. See docs/brief.md for all that can be added."))
    try:
        document["due"] = date.fromisoformat(due.strip())
    except ValueError:
        document["due"] = due
    if in_inches(height, rim):
        document["show_lengths"] = "in"
    forms = tomlkit.aot()
    form = tomlkit.table()
    form["name"] = name
    form["count"] = int(count) if count.strip().isdecimal() else count
    for key, size in (("height", height), ("rim", rim)):
        if size and size.strip():
            form[key] = size.strip()
    forms.append(form)
    document["forms"] = forms
    clay = tomlkit.table()
    clay["shrinkage"] = shrinkage.strip()
    document["clay"] = clay
    return tomlkit.dumps(document)
