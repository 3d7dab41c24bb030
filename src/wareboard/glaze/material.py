"""Materials: what each brings to the fired glaze, and how to find one by name."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from wareboard.errors import NotInTable, OutOfRange, Problems
from wareboard.glaze.oxide import oxides
from wareboard.reference import rows

MOST_NEAR_NAMES = 3


@dataclass(frozen=True, slots=True)
class Material:
    """One raw material: oxides in weight % of the raw powder and what it loses in the fire.

    ``oxides_wt`` maps an oxide to weight % of the raw material. ``loi_share`` is the loss on ignition, a fraction of the raw
    weight (below 0 where the material takes up oxygen). ``hazards`` are keys of ``glaze/hazards.csv``.
    ``solubility`` is "", "slight" or "soluble". ``trust`` says how the analysis was come by.
    """

    name: str
    oxides_wt: Mapping[str, float]
    loi_share: float
    hazards: tuple[str, ...] = ()
    is_clay: bool = False
    solubility: str = ""
    note: str = ""
    source: str = "given"
    trust: str = "given"
    mineral: str = ""

    def __post_init__(self) -> None:
        for formula, amount in self.oxides_wt.items():
            if formula not in oxides():
                raise NotInTable(
                    f"oxide {formula!r} in {self.name}", "the table of oxides does not hold it", "Mend its name"
                )
            if not (math.isfinite(amount) and amount >= 0):
                raise OutOfRange(
                    f"{formula} in {self.name} is {amount:g} %", "it must be a finite number, 0 or more", "Mend it"
                )
        object.__setattr__(self, "oxides_wt", MappingProxyType(dict(self.oxides_wt)))


def _number(text: str) -> float:
    return float(text) if text else 0.0


def _from_row(row: Mapping[str, str]) -> Material:
    held = {formula: _number(row[formula]) for formula in oxides() if _number(row.get(formula) or "") > 0.0}
    # Where the table prints no loss (fluorine leaves in part), what is not oxide is taken as lost.
    loi_wt = float(row["loi"]) if row["loi"] else 100.0 - sum(held.values())
    return Material(
        name=row["material"],
        oxides_wt=held,
        loi_share=loi_wt / 100.0,
        hazards=tuple(row["hazards"].split()),
        is_clay=row["clay"] == "yes",
        solubility=row["solubility"],
        note=row["note"],
        source=row["source"],
        trust=row["trust"],
        mineral=row["mineral"],
    )


@cache
def shelf() -> Mapping[str, Material]:
    """The shipped materials by name. Source: each row's own, mostly theoretical minerals (``glaze/materials.csv``)."""
    return MappingProxyType({row["material"]: _from_row(row) for row in rows("glaze/materials")})


def _other_names(name: str, mineral: str = "") -> set[str]:
    """``name`` without what stands in brackets, each side of a stroke ("silica / flint" is both), and the mineral's name."""
    plain = name.casefold().split(" (")[0]
    found = {part.strip() for part in plain.split(" / ")}
    return found | {mineral.casefold().split(" (")[0]} if mineral else found


def near_names(name: str, materials: Iterable[Material]) -> tuple[str, ...]:
    """The names of the few ``materials`` most like ``name``, likeliest first."""
    wanted = name.casefold()
    by_lower: dict[str, str] = {}
    for known in materials:
        for other in {known.name.casefold()} | _other_names(known.name, known.mineral):
            by_lower.setdefault(other, known.name)
    holding = [known for lower, known in by_lower.items() if wanted and (wanted in lower or lower in wanted)]
    alike = [by_lower[lower] for lower in difflib.get_close_matches(wanted, by_lower, n=MOST_NEAR_NAMES, cutoff=0.6)]
    return tuple(dict.fromkeys([*alike, *holding]))[:MOST_NEAR_NAMES]


def material(name: str, materials: Mapping[str, Material] | None = None) -> Material:
    """The material of that name; capitals do not matter, and either side of "silica / flint" will do, and
    so will the mineral's name where only one material is that mineral.

    Args:
        materials: the shelf to look on; the shipped one when left out.
    Raises:
        NotInTable: if no material, or more than one, answers to the name; the nearest names are given.
    """
    known = shelf() if materials is None else materials
    if name in known:
        return known[name]
    wanted = name.casefold().strip()
    found = [name for name in known if name.casefold() == wanted] or [
        name for name, entry in known.items() if wanted in _other_names(name, entry.mineral)
    ]
    if len(found) == 1:
        return known[found[0]]
    near = found or near_names(name, known.values())
    hint = f"Did you mean {' or '.join(repr(other) for other in near)}? " if near else ""
    raise NotInTable(
        f"material {name!r}",
        why="more than one material answers to that name" if found else "it is not on the shelf",
        mend=f"{hint}Write one of the shelf's names, or put the material in with its analysis",
    )


def materials_of(names: Iterable[str], materials: Mapping[str, Material] | None = None) -> Mapping[str, Material]:
    """The material for each of ``names``.

    Raises:
        NotInTable: if one is not on the shelf.
        Problems: if several are not, all at once.
    """
    found: dict[str, Material] = {}
    missing: list[NotInTable] = []
    for name in names:
        try:
            found[name] = material(name, materials)
        except NotInTable as exc:
            missing.append(exc)
    if len(missing) == 1:
        raise missing[0]
    if missing:
        raise Problems(missing, "Some materials are not on the shelf")
    return found
