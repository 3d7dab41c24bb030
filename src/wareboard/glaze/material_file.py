"""Materials from a table that a person keeps: CSV text in, materials out, everything wrong told at once with its line."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from wareboard.errors import Problems, Unreadable, WareboardError
from wareboard.glaze.hazard import hazards
from wareboard.glaze.material import Material
from wareboard.glaze.oxide import oxides

NAME_COLUMNS = ("material", "name")
OTHER_COLUMNS = ("loi", "clay", "solubility", "hazards", "note", "source")
LOT_COLUMNS = ("lot", "supplier", "price_per_kg", "stock_kg")
G_PER_KG = 1000.0
SOLUBILITIES = ("", "slight", "soluble")
YES, NO = ("yes", "y", "x", "1"), ("", "no", "n", "0")
# Printed analyses add up to within this of 100.
LEAST_SUM, MOST_SUM = 97.0, 101.5


@dataclass(frozen=True, slots=True)
class LotRow:
    """What a line says of the lot that stands there: its code, whose, its price and stock; None where it does not say."""

    code: str
    supplier: str
    price_per_kg: float | None
    stock_g: float | None


def read_materials(text: str) -> tuple[Material, ...]:
    """The materials of a table, in its order; see `read_shelf`."""
    return tuple(entry for entry, _ in read_shelf(text))


def read_shelf(text: str) -> tuple[tuple[Material, LotRow | None], ...]:
    """The materials of a table, in its order, each with its lot where the line tells of one.

    The first line names the columns: ``material`` (or ``name``), oxides by their formula in weight % of the raw material,
    and if wanted ``loi`` (weight %; what is missing to 100 where it is left out), ``clay`` (yes or no), ``solubility``
    (slight or soluble), ``hazards`` (keys with spaces between), ``note``, ``source``; of the lot that stands there
    ``lot`` (its code), ``supplier``, ``price_per_kg`` and ``stock_kg``. Commas between, or semicolons; with semicolons
    a comma in a number is a decimal comma. Lines that begin with # and blank lines are passed over.

    Raises:
        Unreadable: if the first line does not name the columns.
        Problems: with one error for each thing wrong, each with its line.
    """
    kept = text.lstrip("\ufeff").splitlines()
    start = next((k for k, line in enumerate(kept) if line.strip() and not line.lstrip().startswith("#")), None)
    if start is None:
        raise Unreadable("the table of materials", "it is empty", "Put a first line with the names of its columns in")
    semicolons = kept[start].count(";") > kept[start].count(",")
    # Blanked, not dropped, so that line numbers stay those of the file.
    lines = ["" if k < start or line.lstrip().startswith("#") else line for k, line in enumerate(kept)]
    columns: list[str] = []
    problems: list[WareboardError] = []
    found: dict[str, tuple[Material, LotRow | None]] = {}
    for where, cells in _each_line("\n".join(lines), ";" if semicolons else ","):
        if not any(cell.strip() for cell in cells):
            continue
        if not columns:
            columns = _columns(cells, where)
            continue
        try:
            entry = _material(columns, cells, semicolons)
            if entry.name.casefold() in (name.casefold() for name in found):
                raise Unreadable(
                    f"{entry.name!r}", "an earlier line has that name", "Give each material a name of its own"
                )
            found[entry.name] = entry, _lot(columns, cells, entry.name, semicolons)
        except WareboardError as exc:
            exc.where = where
            problems.append(exc)
    if problems:
        raise Problems(problems, "The table of materials could not be read")
    return tuple(found.values())


def _each_line(text: str, delimiter: str) -> Iterator[tuple[str, list[str]]]:
    """Where each row ends and its cells."""
    reader = csv.reader(io.StringIO(text), delimiter=delimiter)
    try:
        for cells in reader:
            yield f"line {reader.line_num}", cells
    except csv.Error as exc:
        what = f"its text cannot be split into cells: {exc}"
        raise Unreadable(
            "the table of materials", what, "Save it again as plain CSV", f"line {reader.line_num}"
        ) from None


def _columns(cells: Iterable[str], where: str) -> list[str]:
    """The columns' plain names; oxides keep their capitals whatever was written."""
    formulas = {formula.casefold(): formula for formula in oxides()}
    columns = [formulas.get(cell.strip().casefold(), cell.strip().casefold()) for cell in cells]
    unknown = [
        name for name in columns if name and name not in (*NAME_COLUMNS, *OTHER_COLUMNS, *LOT_COLUMNS, *oxides())
    ]
    if unknown:
        raise Unreadable(
            f"column {unknown[0]!r}", "it is neither an oxide nor a column that is known",
            f"Name oxides by formula, and others {', '.join((NAME_COLUMNS[0], *OTHER_COLUMNS, *LOT_COLUMNS))}", where,
        )  # fmt: skip
    twice = [name for name in columns if name and columns.count(name) > 1]
    if twice:
        raise Unreadable(f"column {twice[0]!r}", "it stands there twice", "Keep one of them", where)
    if not set(columns) & set(NAME_COLUMNS) or not set(columns) & set(oxides()):
        raise Unreadable(
            "the first line", "it must name the material and at least one oxide", "Mend the first line", where
        )
    return columns


def _material(columns: list[str], cells: list[str], decimal_comma: bool) -> Material:
    if len(cells) > len(columns) and any(cell.strip() for cell in cells[len(columns) :]):
        raise Unreadable(f"{len(cells)} cells", f"there are {len(columns)} columns", "Put text with commas in quotes")
    row = dict(zip(columns, (cell.strip() for cell in cells), strict=False))
    name = row.get("material") or row.get("name") or ""
    if not name:
        raise Unreadable("a material without a name", "each line must have one", "Put its name in")
    held = {formula: _number(row.get(formula, ""), f"{formula} of {name}", decimal_comma) for formula in oxides()}
    held = {formula: amount for formula, amount in held.items() if amount}
    return Material(
        name=name,
        oxides_wt=held,
        loi_share=_loi_wt(row, held, name, decimal_comma) / 100.0,
        hazards=_hazards(row.get("hazards", ""), name),
        is_clay=_yes(row.get("clay", ""), name),
        solubility=_solubility(row.get("solubility", ""), name),
        note=row.get("note", ""),
        source=row.get("source", "") or "given",
        trust="given",
    )


def _lot(columns: list[str], cells: list[str], name: str, decimal_comma: bool) -> LotRow | None:
    row = dict(zip(columns, (cell.strip() for cell in cells), strict=False))
    told = [row.get(column, "") for column in LOT_COLUMNS]
    if not any(told):
        return None
    code, supplier, price, stock = told
    if not code:
        raise Unreadable(
            f"the lot of {name}", "its code is missing", "Write its lot or the day it was bought under lot"
        )
    return LotRow(
        code,
        supplier,
        _number(price, f"price of {name}", decimal_comma) if price else None,
        _number(stock, f"stock of {name}", decimal_comma) * G_PER_KG if stock else None,
    )


def _number(text: str, what: str, decimal_comma: bool) -> float:
    if not text:
        return 0.0
    plain = text.removesuffix("%").strip()
    try:
        value = float(plain.replace(",", ".") if decimal_comma else plain)
    except ValueError:
        raise Unreadable(f"{what} is {text!r}", "it is not a number", "Write a number such as 12.5") from None
    if not math.isfinite(value):
        raise Unreadable(f"{what} is {text!r}", "it is not a finite number", "Write a number such as 12.5")
    if value < 0 and not what.startswith("loss"):
        raise Unreadable(f"{what} is {text!r}", "there cannot be less than none of it", "Write 0 or leave it blank")
    return value


def _loi_wt(row: Mapping[str, str], held: Mapping[str, float], name: str, decimal_comma: bool) -> float:
    whole = math.fsum(held.values())
    if not held:
        raise Unreadable(name, "it holds no oxide", "Put its analysis in, weight %")
    if row.get("loi"):
        loi_wt = _number(row["loi"], f"loss of {name}", decimal_comma)
        if not LEAST_SUM <= whole + loi_wt <= MOST_SUM:
            raise Unreadable(
                f"{name} adds up to {whole + loi_wt:.2f} %",
                "oxides and loss must make about 100",
                "Look the analysis over",
            )
        return loi_wt
    if whole > MOST_SUM:
        raise Unreadable(
            f"{name} adds up to {whole:.2f} %", "oxides cannot make more than 100", "Look the analysis over"
        )
    return max(0.0, 100.0 - whole)


def _hazards(text: str, name: str) -> tuple[str, ...]:
    keys = tuple(text.split())
    for key in keys:
        if key not in hazards():
            raise Unreadable(f"hazard {key!r} of {name}", "it is not known", f"Write some of {', '.join(hazards())}")
    return keys


def _yes(text: str, name: str) -> bool:
    if text.casefold() in (*YES, *NO):
        return text.casefold() in YES
    raise Unreadable(f"clay is {text!r} for {name}", "it is yes or no", "Write yes, or leave it blank")


def _solubility(text: str, name: str) -> str:
    if text.casefold() in SOLUBILITIES:
        return text.casefold()
    raise Unreadable(f"solubility is {text!r} for {name}", "it is slight, soluble or blank", "Write one of them")
