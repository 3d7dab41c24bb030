"""Field types of the brief and the workshop: words as people write them, read to base units, with limits and mends.

Each refuses what no kiln or workshop could mean, by name. The limits are wide: they catch slips, not taste.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Annotated, Any, TypeAlias

from pydantic import BaseModel, BeforeValidator, ConfigDict, GetCoreSchemaHandler, PlainSerializer
from pydantic_core import CoreSchema, core_schema

from wareboard import quantities
from wareboard.errors import NotInTable, OutOfRange, Unreadable, as_written

Reader: TypeAlias = Callable[[Any], float]


class Fields(BaseModel):
    """What every part of a brief shares: frozen, no unknown fields, words trimmed."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True, validate_default=False)


@dataclass(frozen=True, slots=True)
class Written:
    """How a number is read from words, between which limits (both allowed), in which unit it is written back."""

    read: Reader
    low: float
    high: float
    unit: str
    mend: str

    def show(self, value: float) -> str:
        if self.unit == "%":
            return f"{round(value * 100, 6):.10g} %"
        return f"{round(value, 6):.12g} {self.unit}".strip()

    def checked(self, written: Any) -> float:
        value = self.read(written)
        if not self.low <= value <= self.high:
            why = f"it must lie between {self.show(self.low)} and {self.show(self.high)}"
            raise OutOfRange(str(written), why, self.mend)
        return value

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        back = core_schema.plain_serializer_function_ser_schema(
            self.show if self.unit else float, when_used="json-unless-none"
        )
        return core_schema.no_info_before_validator_function(self.checked, handler(source), serialization=back)


def plain_number(written: Any) -> float:
    """A number without a unit, from "0.05", "0,05" or 0.05."""
    try:
        if isinstance(written, bool):
            raise ValueError
        value = float(str(written).strip().replace(",", "."))
    except ValueError:
        raise Unreadable(as_written(written), "it is not a number", "Write digits, such as 1.45") from None
    if not math.isfinite(value):
        raise Unreadable(as_written(written), "it is not a finite number", "Write digits, such as 1.45")
    return value


def whole_number(written: Any) -> int:
    """A count, from "24", 24 or 24.0."""
    if isinstance(written, bool):
        raise Unreadable(as_written(written), "it is not a number", "Write a whole number such as 24")
    try:
        value = float(str(written).strip().replace("\N{NO-BREAK SPACE}", ""))
    except ValueError:
        raise Unreadable(as_written(written), "it is not a number", "Write a whole number such as 24") from None
    if value != value or value in (float("inf"), float("-inf")) or value != int(value):
        raise Unreadable(str(written), "it is not a whole number", "Write a whole number such as 24")
    return int(value)


def _pieces(written: Any) -> int:
    count = whole_number(written)
    if count < 1:
        raise OutOfRange(f"{count} pieces", "there is nothing to make", "Write how many pieces are wanted, 1 or more")
    if count > MOST_PIECES:
        raise OutOfRange(
            f"{count} pieces",
            f"a plan covers up to {MOST_PIECES} of one form",
            "Split the commission into several, or take out a few noughts",
        )
    return count


def _cone(written: Any) -> str:
    from wareboard.kiln.cone import end_point_c

    name = quantities.cone_name(written)
    try:
        end_point_c(name, 60.0)
    except NotInTable as problem:  # pydantic gathers value errors only
        raise Unreadable(problem.what, problem.why, problem.mend) from None
    return name


def _day(written: Any) -> date:
    if isinstance(written, datetime):
        return written.date()
    if isinstance(written, date):
        return written
    try:
        return date.fromisoformat(str(written).strip())
    except ValueError:
        raise Unreadable(as_written(written), "it is not a date", "Write year-month-day, such as 2027-02-12") from None


def _money(written: Any) -> Decimal:
    words = str(written).strip().replace("\N{NO-BREAK SPACE}", "").replace(" ", "")
    try:
        amount = Decimal(words.replace(",", ".") if words.count(",") == 1 and "." not in words else words)
    except InvalidOperation:
        raise Unreadable(
            as_written(written), "it is not an amount of money", "Write digits only, such as 18.50"
        ) from None
    if not amount.is_finite() or not 0 <= amount <= 10_000_000:
        raise OutOfRange(str(written), "it must lie between 0 and 10000000", "Check the amount")
    return amount


def _currency(written: Any) -> str:
    words = str(written).strip().upper()
    if len(words) != 3 or not words.isascii() or not words.isalpha():
        raise Unreadable(
            as_written(written), "it is not a currency", "Write its three letters, such as EUR, GBP or USD"
        )
    return words


def _file_beside(written: Any) -> str:
    """A file by its path from the brief's own folder, with plain strokes between; one that leads out of it is refused."""
    words = str(written).strip().replace("\\", "/")
    if not words or len(words) > LONGEST_PATH or any(ord(letter) < 32 for letter in words):
        raise Unreadable(as_written(written), "it is not the name of a file", FILE_MEND)
    if words.startswith(("/", "~")) or words[1:2] == ":":
        raise Unreadable(as_written(written), "it does not start from the brief's folder", FILE_MEND)
    if ".." in words.split("/"):
        raise Unreadable(as_written(written), "it leads out of the brief's folder", FILE_MEND)
    return "/".join(part for part in words.split("/") if part not in ("", "."))


MOST_PIECES = 10_000
LONGEST_PATH = 200
FILE_MEND = 'Put the file beside the brief, or in a folder there, and write it like "pictures/heron.svg"'
Length = Annotated[float, Written(quantities.length_mm, 0.1, 3000.0, "mm", "Check the figure and its unit")]
ProfileHeight = Annotated[float, Written(quantities.length_mm, 0.0, 1200.0, "mm", "Check the figure and its unit")]
Dip = Annotated[float, Written(quantities.length_mm, 0.0, 200.0, "mm", "Check the figure and its unit")]
PieceLength = Annotated[
    float, Written(quantities.length_mm, 5.0, 1200.0, "mm", "Check the figure and its unit (mm, cm or in)")
]
Weight = Annotated[
    float, Written(quantities.mass_g, 0.1, 2_000_000.0, "g", "Check the figure and its unit (g, kg, lb or oz)")
]
Volume = Annotated[
    float, Written(quantities.volume_ml, 1.0, 500_000.0, "ml", "Check the figure and its unit (ml, l or fl oz)")
]
Shrinkage = Annotated[
    float,
    Written(
        quantities.share,
        0.01,
        0.25,
        "%",
        "Write the clay's total linear shrinkage, such as 12 % (most throwing clays: 9 to 15 %)",
    ),
]
Share = Annotated[float, Written(quantities.share, 0.0, 1.0, "%", "Write a share such as 10 %")]
Yield = Annotated[float, Written(quantities.share, 0.05, 1.0, "%", "Write the share that comes through, such as 97 %")]
Chance = Annotated[float, Written(quantities.share, 0.5, 0.999, "%", "Write a chance such as 90 %")]


def _minutes(written: Any) -> float:
    return quantities.duration_s(written, bare="min") / 60


def _hours(written: Any) -> float:
    return quantities.duration_s(written, bare="h") / 3600


def _degrees(written: Any) -> float:
    words = str(written).strip()
    for ending in ("degrees", "deg", "°"):
        words = words.removesuffix(ending).strip()
    return plain_number(written if isinstance(written, bool) else words)


def _whole(written: Any) -> float:
    return float(whole_number(written))


Minutes = Annotated[float, Written(_minutes, 0.0, 6000.0, "min", "Write it like 4 min")]
Hours = Annotated[float, Written(_hours, 0.0, 2400.0, "h", "Write it like 3 h")]
WorkHours = Annotated[float, Written(_hours, 0.25, 16.0, "h", "Write the hands-on hours of one day")]
Density = Annotated[float, Written(plain_number, 0.5, 6.0, "", "Write g per ml, such as 1.95")]
SpecificGravity = Annotated[
    float, Written(plain_number, 1.01, 2.5, "", "Write the weight of 1 ml of slip in g, such as 1.45")
]
Parts = Annotated[float, Written(plain_number, 0.0, 1_000_000.0, "", "Write parts by weight, such as 40")]
Volts = Annotated[float, Written(plain_number, 50.0, 1000.0, "", "Write the volts, such as 240")]
Hottest = Annotated[float, Written(quantities.temperature_c, 500.0, 1450.0, "C", "Write it like 1290 C, or 2350 F")]
Hour = Annotated[
    float,
    Written(plain_number, 0.0, 12.0, "", "Write the hour of a clock laid on the shelf, 6 at the front, such as 3"),
]
Owned = Annotated[
    int, BeforeValidator(lambda written: int(Written(_whole, 0, 10_000, "", "Count them").checked(written)))
]
Power = Annotated[float, Written(plain_number, 0.2, 500.0, "", "Write the kiln's power in kW, such as 11.5")]
Rate = Annotated[float, Written(quantities.share, 0.0, 10.0, "%", "Write a share of the cost, such as 20 %")]
Degrees = Annotated[float, Written(_degrees, -60.0, 90.0, "°", "Write degrees from level, such as 50°")]
Turn = Annotated[float, Written(_degrees, 0.0, 360.0, "°", "Write degrees round from the spout, such as 180°")]
Holes = Annotated[
    int, BeforeValidator(lambda written: int(Written(_whole, 0, 400, "", "Count the holes").checked(written)))
]
Pieces = Annotated[int, BeforeValidator(_pieces)]
Coats = Annotated[
    int, BeforeValidator(lambda written: int(Written(_whole, 1, 20, "", "Write 1 to 20").checked(written)))
]
Cone = Annotated[str, BeforeValidator(_cone)]
Day = Annotated[date, BeforeValidator(_day)]
Money = Annotated[Decimal, BeforeValidator(_money), PlainSerializer(str, when_used="json")]
Currency = Annotated[str, BeforeValidator(_currency)]
FileBeside = Annotated[str, BeforeValidator(_file_beside)]
