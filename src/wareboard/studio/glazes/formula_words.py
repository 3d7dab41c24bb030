"""Formulas and what to leave out, as people write them."""

from __future__ import annotations

import re
from collections.abc import Mapping

from wareboard.errors import NotInTable, Unreadable
from wareboard.glaze.hazard import hazards
from wareboard.glaze.material import Material, material
from wareboard.glaze.oxide import oxides
from wareboard.plan.fields import plain_number
from wareboard.studio.glazes.boxes import from_nought


def formula_in(words: str) -> dict[str, float]:
    """Oxides and moles from "K2O 0.3, CaO 0.7, Al2O3 0.4, SiO2 4".

    Raises:
        Unreadable: if it is not oxides each with a number. NotInTable: for an oxide that the table does not hold.
    """
    formulas = {name.casefold(): name for name in oxides()}
    tokens = [token for token in re.split(r"[\s;:=]+|,\s+|,$", words) if token]
    if len(tokens) % 2:
        raise Unreadable(
            "the formula", "it is not oxides each with a number", "Write it like K2O 0.3, CaO 0.7, SiO2 3.5"
        )
    found: dict[str, float] = {}
    for name, number in zip(tokens[::2], tokens[1::2], strict=True):
        formula = formulas.get(name.casefold())
        if formula is None:
            raise NotInTable(
                f"oxide {name!r}", "the table of oxides does not hold it", f"Write one of {', '.join(oxides())}"
            )
        if formula in found:
            raise Unreadable(formula, "it stands there twice", "Write each oxide once")
        found[formula] = from_nought(plain_number)(number)
    return found


def left_out_of(words: str, shelf: Mapping[str, Material]) -> list[str]:
    """Materials, oxides and hazards to leave out, as the room names them, from words with commas between.

    Raises:
        NotInTable: for a word that is none of these.
    """
    known = {name.casefold(): name for name in (*oxides(), *hazards())}
    return [
        known.get(part.casefold()) or material(part, shelf).name
        for part in (part.strip() for part in re.split(r"[,;\n]", words))
        if part
    ]
