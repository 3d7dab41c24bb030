"""The cone charts as printed: one file for each edition, never mixed; a source and a status on every row.

A cone's temperature means nothing without its form and the rate of heating, so a row always carries both.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from wareboard.errors import NotInTable, OutOfRange
from wareboard.reference import rows

PRESENT = "2016"
EDITIONS = (PRESENT, "older")
FORMS = ("self-supporting", "large", "small", "self-supporting iron-free", "large iron-free")
SET_ASIDE = "set aside"  # printed, but at odds with the rest of its chart: kept in the file, answered by nobody
MARKS = ("cone", "δ", "∆", "△", "^")  # the ways in which potters write "cone" before a number


@dataclass(frozen=True, slots=True)
class ChartRow:
    """One printed end point: °C at °C/h, for a cone of one form in one edition, with where it was read."""

    cone: str
    form: str
    rate_c_per_h: float
    temp_c: float
    source: str
    status: str
    edition: str
    note: str

    @property
    def from_memory(self) -> bool:
        """Whether the row was written down from memory, and not read off the printed chart."""
        return self.status == "from memory"


def cone_order(cone: str) -> float:
    """Cones counted up from 01: 04 is -3, 05.5 is -4.5, 01 is 0, 1 is 1, 6 is 6, so that a difference counts cones."""
    return 1.0 - float(cone) if cone.startswith("0") else float(cone)


@cache
def chart(edition: str = PRESENT) -> Mapping[tuple[str, str], tuple[ChartRow, ...]]:
    """Rows of one edition by (cone, form), slowest rate first; rows that are set aside are left out.

    Raises:
        NotInTable: if there is no such edition.
    """
    if edition not in EDITIONS:
        raise NotInTable(
            f"cone chart {edition!r}", why=f"the editions shipped are {', '.join(EDITIONS)}", mend="Name one of them"
        )
    found: dict[tuple[str, str], list[ChartRow]] = {}
    for row in rows(f"kiln/cones_{edition}"):
        if row["status"] == SET_ASIDE:
            continue
        rate, temp = float(row["heating_rate_c_per_h"]), float(row["temp_c"])
        line = ChartRow(row["cone"], row["form"], rate, temp, row["source"], row["status"], edition, row["note"])
        found.setdefault((line.cone, line.form), []).append(line)
    return MappingProxyType({key: tuple(sorted(each, key=lambda r: r.rate_c_per_h)) for key, each in found.items()})


@cache
def cones(form: str = FORMS[0], edition: str = PRESENT) -> tuple[str, ...]:
    """The cones that a chart gives for one form, softest first.

    Raises:
        NotInTable: if the edition or the form is not shipped.
    """
    names = sorted((cone for cone, shape in chart(edition) if shape == form), key=cone_order)
    if not names:
        raise NotInTable(
            f"cone form {form!r}",
            why=f"the {edition} chart has {', '.join(dict.fromkeys(shape for _, shape in chart(edition)))}",
            mend="Name the form that you stand in the kiln",
        )
    return tuple(names)


@cache
def _known() -> tuple[str, ...]:
    """Every cone of either chart, softest first."""
    return tuple(sorted({name for edition in EDITIONS for name, _ in chart(edition)}, key=cone_order))


def cone_name(cone: str | float) -> str:
    """The cone as the chart spells it: "6", "cone 6", "Δ6" and 6 are "6"; "04", "cone O4" are "04".

    A number can only name a cone from 1 up: 4 is cone 4, never cone 04, which is some 100 °C softer and must be written as
    text.

    Raises:
        NotInTable: if no chart has such a cone; the message names the cones that there are.
    """
    if isinstance(cone, str):
        text = cone.strip()
        for mark in MARKS:
            if text.lower().startswith(mark):
                text = text[len(mark) :].strip()
        text = text.replace(",", ".").lower().replace("o", "0")
    else:
        text = f"{cone:g}"
    if text in _known():
        return text
    listed, hint = ", ".join(_known()), "Name one of them"
    if not isinstance(cone, str) and cone < 0:
        hint = f"Write cone 0{-float(cone):g} as text"
    elif text.endswith("a"):
        hint = "Cones with an a are of the Seger series, up to 40 °C away from these; name one of these"
    raise NotInTable(f"cone {text or repr(cone)}", why=f"the cones there are: {listed}", mend=hint)


def chart_rows(cone: str | float, form: str = FORMS[0], edition: str = PRESENT) -> tuple[ChartRow, ...]:
    """The printed rows for a cone of one form, slowest rate first.

    Raises:
        NotInTable: if the cone, form or edition is not shipped, or the cone is not made (or not charted) in that form.
    """
    name, there = cone_name(cone), cones(form, edition)
    if name not in there:
        raise NotInTable(
            f"cone {name}, {form}",
            why=f"the {edition} chart gives {form} cones {there[0]} to {there[-1]}: {', '.join(there)}",
            mend="Name another form, or another cone",
        )
    return chart(edition)[name, form]


def next_cone(cone: str | float, step: int, form: str = FORMS[0], edition: str = PRESENT) -> str:
    """The whole-numbered cone ``step`` places harder (or softer, if negative): the guard and the guide of a pack.

    Raises:
        NotInTable: if the cone is not in the chart.
        OutOfRange: if the chart ends before that place.
    """
    chart_rows(cone, form, edition)
    name, whole = cone_name(cone), [each for each in cones(form, edition) if "." not in each]
    beside = [each for each in whole if (cone_order(each) - cone_order(name)) * step > 0]
    ordered = beside if step > 0 else beside[::-1]
    if step == 0:
        return name
    if len(ordered) < abs(step):
        raise OutOfRange(
            f"the cone {abs(step)} {'harder' if step > 0 else 'softer'} than {name}",
            why=f"the {edition} chart for {form} cones ends at {whole[-1] if step > 0 else whole[0]}",
            mend="Choose a cone further inside the chart",
        )
    return ordered[abs(step) - 1]
