"""Oxides: molar masses and the class each has in the unity formula."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from wareboard.errors import NotInTable
from wareboard.reference import rows

FLUX_GROUPS = ("R2O", "RO")


@dataclass(frozen=True, slots=True)
class Oxide:
    """One oxide: its formula, its name, its class in the unity formula and the group it is counted in.

    ``group`` is "R2O" or "RO" for the fluxes, else "former", "amphoteric", "opacifier", "colourant" or "flux-like".
    """

    formula: str
    name: str
    unity_class: str
    group: str
    role: str
    note: str
    source: str

    @property
    def is_flux(self) -> bool:
        """Whether the unity formula counts it among the fluxes."""
        return self.group in FLUX_GROUPS

    @property
    def is_colouring(self) -> bool:
        """Whether it colours the glaze."""
        return self.group == "colourant"

    @property
    def may_count_as_flux(self) -> bool:
        """Whether a convention counts this colouring oxide with the fluxes (FeO, MnO, CoO, CuO, NiO and their like)."""
        return self.is_colouring and self.unity_class.startswith(("RO colourant", "R2O colourant"))


@cache
def oxides() -> Mapping[str, Oxide]:
    """Every oxide of the shipped table by formula, in the table's order. Source: ``glaze/oxides.csv``."""
    return MappingProxyType(
        {
            row["oxide"]: Oxide(
                row["oxide"], row["name"], row["unity_class"], row["group"], row["role"], row["note"], row["source"]
            )
            for row in rows("glaze/oxides")
        }
    )


def oxide(formula: str) -> Oxide:
    """The oxide of that formula.

    Raises:
        NotInTable: if the table does not hold it.
    """
    try:
        return oxides()[formula]
    except KeyError:
        raise NotInTable(
            f"oxide {formula!r}",
            why="the table of oxides does not hold it",
            mend=f"Write one of {', '.join(oxides())}",
        ) from None


@cache
def molar_mass_g(formula: str) -> float:
    """Molar mass of an oxide of the table, g/mol.

    Raises:
        NotInTable: if the table does not hold the oxide.
    Source: atomic weights as the molmass library ships them.
    """
    from molmass import Formula

    return float(Formula(oxide(formula).formula).mass)
