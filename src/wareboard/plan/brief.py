"""The brief: what the client asked and what the work is made of. Four things are needed; the rest has defaults.

The four: a fired size, the clay's shrinkage, how many, by when. A brief is TOML that a person can read; the same model
is what the studio's forms fill.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, model_validator

from wareboard.errors import OutOfRange
from wareboard.plan.fields import (
    Chance,
    Coats,
    Cone,
    Day,
    Degrees,
    Density,
    Dip,
    Fields,
    FileBeside,
    Holes,
    Length,
    Minutes,
    Money,
    Parts,
    PieceLength,
    Pieces,
    ProfileHeight,
    Share,
    Shrinkage,
    SpecificGravity,
    Turn,
    Volume,
    Weight,
    Yield,
)
from wareboard.plan.slug import slug
from wareboard.plan.workshop import Firing, Kiln, Person, Prices

Shape = Literal["cylinder", "taper", "belly", "bowl", "plate", "jug", "jar", "teapot"]
Name = Annotated[str, Field(min_length=1, max_length=80)]
Text = Annotated[str, Field(max_length=4000)]


def _one_or_many(written: object) -> object:
    return written if isinstance(written, list | tuple) else [written]


class Measured(Fields):
    """One length measured wet and again when fired: a test bar, or a dimension of a prototype."""

    wet: Length
    fired: Length
    direction: Literal["height", "width", "both"] = "both"

    @model_validator(mode="after")
    def _it_shrank(self) -> Measured:
        if not 0.75 * self.wet <= self.fired <= self.wet:
            raise OutOfRange(
                f"{self.wet:g} mm wet and {self.fired:g} mm fired",
                "clay shrinks by 0 to 25 % of its wet length",
                "Check that the two are not swapped and are in the same unit",
            )
        return self


class Clay(Fields):
    """The clay body."""

    name: str = ""
    shrinkage: Shrinkage | None = None
    shrinkage_height: Shrinkage | None = None
    shrinkage_width: Shrinkage | None = None
    measured: tuple[Measured, ...] = ()
    lot: str = ""
    bag: Weight | None = None
    block: tuple[Length, Length, Length] | None = None
    water: Share | None = None
    loss_on_ignition: Share | None = None
    wet_density: Density | None = None
    fired_density: Density | None = None


class Handle(Fields):
    """A handle, fired sizes; ``at`` is the height of its lower end, ``round`` its degrees from the spout or the front."""

    height: PieceLength | None = None
    gap: Length | None = None
    width: Length | None = None
    thickness: Length | None = None
    blank: Weight | None = None
    at: ProfileHeight | None = None
    round: Turn | None = None


class Lid(Fields):
    """A lid, fired sizes; what it shrinks and the water it is thrown at where they are its own."""

    diameter: PieceLength | None = None
    height: PieceLength | None = None
    gallery: Length | None = None
    gallery_depth: Length | None = None
    gap: Dip | None = None
    knob: Length | None = None
    knob_height: Length | None = None
    shrinkage: Shrinkage | None = None
    measured: tuple[Measured, ...] = ()
    water: Share | None = None


class PulledLip(Fields):
    """A lip pulled at the rim of a jug, fired sizes."""

    out: Length | None = None
    width: Length | None = None
    down: Length | None = None
    dip: Dip | None = None


class Spout(Fields):
    """A spout thrown apart and joined to the pot, fired sizes; rake and cut in degrees from level."""

    join: PieceLength | None = None
    length: PieceLength | None = None
    rake: Degrees | None = None
    cut: Degrees | None = None
    base: Length | None = None
    tip: Length | None = None
    wall: Length | None = None
    full: PieceLength | None = None
    holes: Holes | None = None
    hole: Length | None = None
    ball: Weight | None = None


class Carving(Fields):
    """The drawing of the mark that is carved on a form, and how; fired sizes."""

    drawing: FileBeside
    width: Length | None = None
    height: Length | None = None
    at: Length | None = None
    count: Annotated[int, Field(ge=1, le=60)] | None = None
    groove: Length | None = None
    kind: Literal["lines", "outlines"] = "lines"
    cut: Literal["incised", "raised"] = "incised"
    lay: Literal["plain", "level"] = "plain"
    mirrored: bool = False
    light_on_dark: bool = False
    copies: Annotated[int, Field(ge=1, le=400)] = 1


class Brushwork(Fields):
    """The artwork that is painted on a form, and the fired tiles that it is painted by; fired sizes."""

    artwork: FileBeside
    tiles: FileBeside
    rules: FileBeside | None = None
    coats: Coats = 5
    brush: Length = 3.0
    off_foot: Length | None = None
    off_rim: Length | None = None
    repeats: Annotated[int, Field(ge=1, le=60)] | None = None
    inside: bool = False
    over_lip: bool = False


class Form(Fields):
    """A form: one shape with its sizes, all fired, and how many are wanted."""

    name: Name = "piece"
    count: Pieces
    shape: Shape | None = None
    height: PieceLength | None = None
    rim: PieceLength | None = None
    foot: PieceLength | None = None
    belly: PieceLength | None = None
    wall: Length | None = None
    floor: Length | None = None
    profile: tuple[tuple[ProfileHeight, Length], ...] = ()
    capacity: Volume | None = None
    fired_weight: Weight | None = None
    height_tolerance: Length | None = None
    width_tolerance: Length | None = None
    trimming: Share | None = None
    handle: Handle | None = None
    lid: Lid | None = None
    lip: PulledLip | None = None
    spout: Spout | None = None
    marks: Annotated[int, Field(ge=0, le=100)] = 1
    carving: Carving | None = None
    brushwork: Brushwork | None = None
    measured: tuple[Measured, ...] = ()
    good: dict[str, Yield] = Field(default_factory=dict)
    minutes: dict[str, Minutes] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _has_a_size(self) -> Form:
        if self.height is None and self.rim is None and not self.profile:
            raise OutOfRange(
                f"form {self.name!r}",
                "no fired size is given",
                'Give its fired height or its fired rim, such as height = "95 mm"',
            )
        return self


class Glaze(Fields):
    """A glaze or slip and where it goes."""

    name: Name
    on: Literal["inside", "outside", "all", "rim", "painting"] = "all"
    forms: Annotated[tuple[str, ...], BeforeValidator(_one_or_many)] = ()
    method: Literal["pour", "dip", "brush"] | None = None
    coats: Coats | None = None
    covers: Share | None = None
    specific_gravity: SpecificGravity | None = None
    recipe: dict[str, Parts] = Field(default_factory=dict)
    additions: dict[str, Parts] = Field(default_factory=dict)
    cone: Cone | None = None
    fired_colour: str = ""
    raw_colour: str = ""


class Mark(Fields):
    """What is carved."""

    what: Text = ""
    height: Length | None = None
    place: str = ""


class Brief(Fields):
    """A commission as the client asked for it."""

    title: str = ""
    client: str = ""
    invented: bool = False
    due: Day
    start: Day | None = None
    notes: Text = ""
    chance: Chance | None = None
    show_lengths: Literal["mm", "in"] | None = None
    show_temperatures: Literal["C", "F"] = "C"
    forms: Annotated[tuple[Form, ...], Field(min_length=1, max_length=40)]
    clay: Clay
    glazes: Annotated[tuple[Glaze, ...], Field(max_length=40)] = ()
    mark: Mark | None = None
    painting: Text = ""
    firing: Firing = Firing()
    kilns: tuple[Kiln, ...] = ()
    people: tuple[Person, ...] = ()
    prices: Prices = Prices()
    agreed_price: Money | None = None

    @model_validator(mode="after")
    def _names_differ(self) -> Brief:
        for what, names in (("form", [f.name for f in self.forms]), ("glaze", [g.name for g in self.glazes])):
            plain = [slug(name) for name in names]
            for name, key in zip(names, plain, strict=True):
                if plain.count(key) > 1 or not key:
                    raise OutOfRange(
                        f"{what} {name!r}",
                        f"two {what}s have this name, or nearly" if key else "it has neither letter nor digit",
                        f"Give each {what} a name of its own, in letters or digits",
                    )
        return self
