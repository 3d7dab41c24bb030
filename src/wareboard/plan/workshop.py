"""What the workshop has: kilns, people, prices, its own losses and times. Kept in ``workshop.toml``; all optional."""

from __future__ import annotations

from datetime import date
from typing import Literal

from pydantic import Field

from wareboard.plan.fields import (
    Cone,
    Currency,
    Day,
    Fields,
    Hottest,
    Hour,
    Hours,
    Length,
    Minutes,
    Money,
    Owned,
    PieceLength,
    Power,
    Rate,
    Share,
    Volts,
    Weight,
    WorkHours,
    Yield,
)
from wareboard.plan.kiln_words import OwnedPosts, Wall

Weekday = Literal["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
ShelfShape = Literal["round", "half-round", "rectangular", "octagonal"]
Vent = Literal["shut", "hole", "fan"]
PackLevel = Literal["every", "top", "middle", "bottom", "none"]


class Kiln(Fields):
    """A kiln: its shelf, the height that can be used, its power and what a firing wears; its wall, wiring and furniture.

    ``wall`` is told from the hot face outwards ("brick 64 mm + fibre 25 mm") or by the name of a build. ``hottest`` and
    ``hottest_cone`` are the most that it may be fired to. Places on a shelf are hours of a clock laid on it, 6 at the front.
    ``posts_owned`` says how many of each length there are ("12 x 150 mm"); the lengths are then its posts.
    """

    name: str = Field(min_length=1, max_length=60)
    shape: ShelfShape | None = None
    shelf_diameter: PieceLength | None = None
    shelf_width: PieceLength | None = None
    shelf_depth: PieceLength | None = None
    shelf_thickness: Length | None = None
    usable_height: PieceLength | None = None
    posts: tuple[Length, ...] = ()
    power_kw: Power | None = None
    wear_per_firing: Money | None = None
    wall: Wall | None = None
    furniture: Weight | None = None
    rated_volts: Volts | None = None
    supply_volts: Volts | None = None
    vent: Vent | None = None
    hottest: Hottest | None = None
    hottest_cone: Cone | None = None
    element_gap: Length | None = None
    thermocouple_gap: Length | None = None
    thermocouple_at: Hour | None = None
    cone_packs: tuple[PackLevel, ...] = ()
    cone_packs_at: Hour | None = None
    posts_owned: tuple[OwnedPosts, ...] = ()
    shelves: Owned | None = None
    half_shelves: Owned | None = None


class Filler(Fields):
    """A small piece that fills gaps of a load: its name, its width over all as it goes in, its height, the most in a load.

    ``firing`` says that it goes into that kind of firing alone.
    """

    name: str = Field(min_length=1, max_length=40)
    across: PieceLength
    height: PieceLength
    most: Owned | None = None
    firing: Literal["bisque", "glaze"] | None = None


class Person(Fields):
    """Who works: hands-on hours a day and the days of the week."""

    name: str = Field(min_length=1, max_length=60)
    hours_per_day: WorkHours | None = None
    days: tuple[Weekday, ...] = ("Mon", "Tue", "Wed", "Thu", "Fri")
    away: tuple[Day, ...] = ()


class Prices(Fields):
    """What things cost, in one currency. ``tax`` and ``tax_words`` are for invoices alone; no price has tax in it."""

    currency: Currency | None = None
    wage_per_hour: Money | None = None
    clay_per_kg: Money | None = None
    glaze_per_kg: Money | None = None
    energy_per_kwh: Money | None = None
    packing_per_piece: Money | None = None
    overhead: Share | None = None
    margin: Rate | None = None
    deposit: Share | None = None
    prototype_hours: Hours | None = None
    tax: Share | None = None
    tax_words: str | None = Field(default=None, max_length=120)


class Seller(Fields):
    """What an invoice says of the workshop: for paper alone, nothing is reckoned from it. Left out: a line for the pen."""

    name: str = Field(default="", max_length=100)
    address: str = Field(default="", max_length=300)
    tax_number: str = Field(default="", max_length=60)
    how_to_pay: str = Field(default="", max_length=300)

    def sender(self, workshop_name: str = "") -> str:
        """Name and address, line under line; nothing without an address. The workshop's name where it has no other."""
        if not self.address:
            return ""
        lines = (self.name or workshop_name, *self.address.splitlines())
        return "\n".join(line.strip() for line in lines if line.strip())


class Firing(Fields):
    """How the workshop fires."""

    bisque_cone: Cone | None = None
    glaze_cone: Cone | None = None
    cone_form: Literal["self-supporting", "large", "small"] = "self-supporting"
    candle: Hours | None = None
    hold: Minutes | None = None
    slow_cooling: bool = False


class OwnFigures(Fields):
    """The workshop's own losses and times, by stage, where they are known better than the defaults.

    ``good`` maps a stage ("thrown", "dried", …) to the share that comes through it; ``minutes`` a task to minutes a piece.
    """

    good: dict[str, Yield] = Field(default_factory=dict)
    minutes: dict[str, Minutes] = Field(default_factory=dict)


class Workshop(Fields):
    """What stands in the workshop. ``today`` is put in by whoever asks: a plan has no clock of its own."""

    name: str = ""
    today: date | None = None
    show_lengths: Literal["mm", "in"] = "mm"
    paper: Literal["a4", "letter"] = "a4"
    kilns: tuple[Kiln, ...] = ()
    fillers: tuple[Filler, ...] = ()
    people: tuple[Person, ...] = ()
    prices: Prices = Prices()
    seller: Seller = Seller()
    firing: Firing = Firing()
    own: OwnFigures = OwnFigures()
    bag: Weight | None = None
    days_off: tuple[Day, ...] = ()
    drying_air: Literal["dry", "usual", "damp"] | None = None
