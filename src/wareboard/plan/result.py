"""What a plan holds: every room's result for one brief, frozen, with the working behind each number."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING, Literal

from wareboard.plan.assume import Assumed, Overruled
from wareboard.plan.brief import Brief, Form, Glaze
from wareboard.plan.own import Own
from wareboard.plan.poured import NOTHING, Poured
from wareboard.plan.slug import slug as slug
from wareboard.plan.workshop import Kiln, Person, Workshop
from wareboard.working import Estimate, Step

if TYPE_CHECKING:
    from wareboard.clay.ball import Agreement, BallWeight
    from wareboard.clay.block import Bags, Block, BlockCut
    from wareboard.clay.drying import RoughDrying
    from wareboard.clay.shrinkage import StageLengths, StageLoss
    from wareboard.form.handle import Strap
    from wareboard.form.profile import Profile
    from wareboard.form.vessel import Vessel
    from wareboard.glaze.recipe import Batch
    from wareboard.glaze.slip import GlazeNeed
    from wareboard.kiln.cone import ConeEndPoint
    from wareboard.kiln.energy import Energy
    from wareboard.kiln.load import KilnInside, Load, LoadPlan
    from wareboard.kiln.schedule import Schedule
    from wareboard.plan.calendar import Calendar
    from wareboard.plan.lidded import Lidded
    from wareboard.plan.overage import Overage, StageYield
    from wareboard.plan.price import Price

KindOfForm = Literal["cup", "bowl", "plate", "jug"]
Weight = Literal["stop", "mind", "note", "care"]


@dataclass(frozen=True, slots=True)
class Notice:
    """Something the potter should know: what, why, and what would mend it.

    ``weight``: "stop" (cannot be done so), "mind" (look at this before going on), "note" (good to know), "care" (a caution).
    """

    what: str
    why: str
    mend: str
    weight: Weight = "note"
    about: str = ""


@dataclass(frozen=True, slots=True)
class FormPlan:
    """One form, from its fired sizes to what to weigh, throw, join and expect."""

    form: Form
    kind: KindOfForm
    shape: str
    profile: Profile  # fired
    wet_profile: Profile
    loss_height: StageLoss
    loss_width: StageLoss
    lengths: Mapping[str, StageLengths]  # "height", "rim", "foot", "belly", and "handle height", "handle gap", "lid", …
    vessel: Vessel
    strap: Strap | None
    ball: BallWeight  # the route that is used
    by_volume: BallWeight
    by_weight: BallWeight | None
    agreement: Agreement | None
    ball_g: float  # rounded, what the sheet says
    handle_blank_g: float | None
    lid_ball_g: float | None
    yields: tuple[StageYield, ...]
    overage: Overage
    drying: RoughDrying
    cut: BlockCut | None
    minutes: Mapping[str, Estimate]  # hands-on minutes a piece, by task
    steps: tuple[Step, ...]
    poured: Poured = NOTHING  # fired lip and spout
    lidded: Lidded | None = None

    @property
    def name(self) -> str:
        return self.form.name

    @property
    def handle_at_mm(self) -> float | None:
        """Height of the handle's lower end above the foot, fired, where the brief says; None for midway up."""
        return self.form.handle.at if self.form.handle else None

    @property
    def handle_turn_deg(self) -> float:
        """The handle's place round the body, clockwise from spout, lip or front seen from above; 180 is opposite."""
        given = self.form.handle.round if self.form.handle else None
        return 180.0 if given is None else given % 360.0

    @property
    def front(self) -> str:
        """What the handle's place is counted from."""
        return "spout" if self.poured.spout else "lip" if self.poured.lip else "front"

    @property
    def start(self) -> int:
        """How many to start."""
        return self.overage.start

    def going_into(self, stage: str) -> float:
        """Pieces expected to go into a stage, when the losses before it are as usual; all of them before the first."""
        found = (count.going_in for count in self.overage.stage_counts if count.stage == stage)
        return next(found, float(self.start))

    def pieces_into(self, stage: str) -> int:
        """The same as whole pieces, rounded up: what must be glazed for, loaded for, waited for."""
        return max(1, math.ceil(self.going_into(stage) - 1e-9))


@dataclass(frozen=True, slots=True)
class ClayPlan:
    """Clay for the whole job."""

    block: Block
    shrinkage_height: Estimate
    shrinkage_width: Estimate
    bags: Bags
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class GlazePlan:
    """One glaze: what goes on which form, how much of it, and how to weigh it out."""

    glaze: Glaze
    method: Literal["pour", "dip", "brush"]
    coats: int
    forms: tuple[str, ...]
    areas_mm2: Mapping[str, float]  # by form, a piece
    pieces: Mapping[str, int]  # by form, going into glazing
    need: GlazeNeed
    batch: Batch | None
    unity: Mapping[str, float] | None
    expansion_per_k: Estimate | None
    flags: tuple[Notice, ...]
    steps: tuple[Step, ...]

    def share_of_one(self, form: str) -> float:
        """The share of all that is mixed that one piece of a form takes, by area."""
        whole = sum(area * self.pieces[name] for name, area in self.areas_mm2.items())
        return self.areas_mm2[form] / whole if whole else 0.0


@dataclass(frozen=True, slots=True)
class Home:
    """The kiln that a load is fired in: its inside, the energy of one firing, and hours to the top over the schedule's.

    ``unstocked`` are its loads as they would be with shelves and posts enough, where its own change them.
    """

    kiln: Kiln
    inside: KilnInside
    energy: Energy
    lag: float
    unstocked: tuple[Load, ...] = ()

    @classmethod
    def of(cls, firing: FiringPlan) -> Home:
        """The kiln that a firing is planned in."""
        return cls(firing.kiln, firing.inside, firing.energy, firing.lag, firing.loads.unstocked)


@dataclass(frozen=True, slots=True)
class FiringPlan:
    """One kind of firing: how many, what stands where, the schedule, the end point, energy, cooling.

    Where loads stand in several kilns, ``homes`` has the kiln of each; ``kiln``, ``inside``, ``energy`` and ``lag`` are
    those of the roomiest. `in_load` has those of one load.
    """

    kind: Literal["bisque", "glaze"]
    cone: str
    kiln: Kiln
    inside: KilnInside
    loads: LoadPlan
    schedule: Schedule
    end_point: ConeEndPoint
    energy: Energy  # of one firing
    cooling_h: Estimate
    steps: tuple[Step, ...]
    lag: float = 1.0  # hours to the top over the schedule's, as this kiln's logs say
    homes: tuple[Home, ...] = ()  # by load; empty where all are in one kiln

    def home(self, number: int) -> Home:
        """The kiln of a load, counted from 1."""
        return self.homes[number - 1] if self.homes else Home.of(self)

    def in_load(self, number: int) -> FiringPlan:
        """The same with kiln, inside, energy and hours of one load, counted from 1."""
        if not self.homes:
            return self
        home = self.home(number)
        loads = replace(self.loads, kiln=home.inside)
        return replace(self, kiln=home.kiln, inside=home.inside, energy=home.energy, lag=home.lag, loads=loads)

    @property
    def in_kilns(self) -> str:
        """The kiln by name, or how many loads in which."""
        counts: dict[str, int] = {}
        for home in self.homes:
            counts[home.kiln.name] = counts.get(home.kiln.name, 0) + 1
        if len(counts) < 2:
            return self.kiln.name
        return " and ".join(f"{name} ({count})" for name, count in counts.items())

    @property
    def heating_h(self) -> float:
        """Hours until the end of the hold at the top, as this kiln takes them."""
        return self.schedule.heating_h * self.lag

    @property
    def firings(self) -> int:
        return self.loads.firings


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything that follows from a brief and a workshop. Answers: what to throw, how much clay, when, loads, price."""

    brief: Brief
    workshop: Workshop
    first_day: date | None
    forms: tuple[FormPlan, ...]
    clay: ClayPlan
    glazes: tuple[GlazePlan, ...]
    bisque: FiringPlan
    glaze_firing: FiringPlan
    kilns: tuple[Kiln, ...]
    people: tuple[Person, ...]
    calendar: Calendar
    price: Price
    assumed: tuple[Assumed, ...]
    notices: tuple[Notice, ...]
    overruled: tuple[Overruled, ...] = ()  # what was typed against the workshop's own records
    leans: Mapping[str, str] = field(default_factory=dict)  # the prints of the learned figures asked for, by key

    @property
    def length_unit(self) -> str:
        """The unit that lengths are shown in: the brief's, else the workshop's."""
        return self.brief.show_lengths or self.workshop.show_lengths

    @property
    def learned(self) -> tuple[Assumed, ...]:
        """The figures that the workshop's own records gave."""
        return tuple(each for each in self.assumed if each.learned is not None)

    @property
    def own(self) -> Own:
        """The workshop's own figures that the plan leans on."""
        return Own.of(each.learned for each in self.learned if each.learned is not None)

    def all_steps(self) -> Iterator[Step]:
        """Every line of working, each with a key such as ``forms.cup.ball-weight`` that stays the same between plans."""
        groups: list[tuple[str, tuple[Step, ...]]] = [("clay", self.clay.steps)]
        groups += [(f"forms.{slug(part.name)}", part.steps) for part in self.forms]
        groups += [(f"glazes.{slug(part.glaze.name)}", part.steps) for part in self.glazes]
        groups += [("bisque", self.bisque.steps), ("glaze-firing", self.glaze_firing.steps)]
        groups += [("calendar", self.calendar.steps), ("price", self.price.steps)]
        for stem, steps in groups:
            seen: dict[str, int] = {}
            for step in steps:
                name = slug(step.name)
                seen[name] = seen.get(name, 0) + 1
                yield replace(step, key=f"{stem}.{name}" + (f"-{seen[name]}" if seen[name] > 1 else ""))
