"""A recipe as it is typed: rows of material, parts, and whether the parts are on top of the base."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from wareboard.errors import OutOfRange, WareboardError
from wareboard.glaze.material import Material, material
from wareboard.glaze.recipe import Recipe
from wareboard.plan.fields import plain_number
from wareboard.studio.glazes.boxes import Trouble

LEAST_ROWS, SPARE_ROWS, MOST_ROWS = 6, 2, 40


@dataclass(slots=True)
class TypedRow:
    """One row as it was typed, and what is wrong with it."""

    number: int
    name: str = ""
    parts: str = ""
    on_top: bool = False
    wrong_name: str = ""
    wrong_parts: str = ""


@dataclass(slots=True)
class RecipeRows:
    """The rows, and the recipe that they make."""

    rows: list[TypedRow]
    base: list[tuple[str, float]] = field(default_factory=list)
    additions: list[tuple[str, float]] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)

    @classmethod
    def of(cls, base: Sequence[Sequence[object]], additions: Sequence[Sequence[object]]) -> RecipeRows:
        """Rows of a recipe that is kept already."""
        lines = [(str(name), parts, False) for name, parts in base] + [
            (str(name), parts, True) for name, parts in additions
        ]
        rows = [
            TypedRow(number, name, f"{float(str(parts)):.6g}", top) for number, (name, parts, top) in enumerate(lines)
        ]
        found = cls(_with_spare(rows))
        found.base = [(name, float(str(parts))) for name, parts, top in lines if not top]
        found.additions = [(name, float(str(parts))) for name, parts, top in lines if top]
        return found

    @classmethod
    def typed(cls, posted: Mapping[str, str], shelf: Mapping[str, Material]) -> RecipeRows:
        """Rows as they were typed, read against a shelf; what is wrong stands beside each."""
        rows: list[TypedRow] = []
        for number in range(MOST_ROWS):
            name, parts = posted.get(f"m{number}", "").strip(), posted.get(f"p{number}", "").strip()
            if name or parts:
                rows.append(TypedRow(len(rows), name[:80], parts[:20], bool(posted.get(f"t{number}"))))
        found = cls(_with_spare(rows))
        for row in rows:
            found._read(row, shelf)
        return found

    def _read(self, row: TypedRow, shelf: Mapping[str, Material]) -> None:
        name, parts = row.name, 0.0
        try:
            name = material(row.name, shelf).name if row.name else ""
            if not name:
                row.wrong_name = "Parts without a material: write which material they are."
        except WareboardError as problem:
            row.wrong_name = str(problem)
            self.unknown.append(row.name)
        try:
            if not row.parts:
                row.wrong_parts = f"{row.name}: its parts are missing. Write them in, or take the row out."
            else:
                parts = _looked_at(plain_number(row.parts), row.name)
        except WareboardError as problem:
            row.wrong_parts = str(problem)
        if not row.wrong_name and not row.wrong_parts and parts > 0:
            (self.additions if row.on_top else self.base).append((name, parts))

    @property
    def troubles(self) -> list[Trouble]:
        """Everything to put right."""
        found = []
        for row in self.rows:
            if row.wrong_name:
                found.append(Trouble(f"m{row.number}", f"Row {row.number + 1}", row.wrong_name))
            if row.wrong_parts:
                found.append(Trouble(f"p{row.number}", f"Row {row.number + 1}", row.wrong_parts))
        if not found and not self.base:
            words = "the base holds nothing. Put in at least one material with its parts"
            if self.additions:
                words = "everything is on top and the base holds nothing. Take a tick out of the last column"
            found.append(Trouble("m0", "Recipe", f"{words}."))
        return found

    def recipe(self, name: str) -> Recipe:
        """The recipe that the rows make. Raises as `Recipe` does, and for a row that could not be read."""
        if self.troubles:
            raise OutOfRange("the recipe", self.troubles[0].words.rstrip("."), "Mend its row")
        held: tuple[dict[str, float], dict[str, float]] = ({}, {})
        for lines, into in zip((self.base, self.additions), held, strict=True):
            for entry, parts in lines:
                into[entry] = into.get(entry, 0.0) + parts
        return Recipe(name, *held)


def _looked_at(parts: float, name: str) -> float:
    if parts < 0:
        raise OutOfRange(f"{name} is {parts:g} parts", "there cannot be less than none of it", "Write 0 or more")
    return parts


def _with_spare(rows: list[TypedRow]) -> list[TypedRow]:
    wanted = min(MOST_ROWS, max(LEAST_ROWS, len(rows) + SPARE_ROWS))
    return rows + [TypedRow(number) for number in range(len(rows), wanted)]
