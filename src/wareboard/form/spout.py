"""A spout thrown apart and joined to a pot: where its tip must stand, what it weighs, and the holes behind it.

Its middle line rises straight outward by its rake; the tube widens towards an oval on the wall. It points away from the
handle. Lengths in mm, angles in degrees, of the piece at one stage.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from wareboard.errors import OutOfRange
from wareboard.form.profile import Profile
from wareboard.form.vessel import FIRED_DENSITY, MM3_PER_ML
from wareboard.given import not_negative, positive, share
from wareboard.working import Step

LEAST_RAKE, MOST_RAKE = 5.0, 85.0
LEAST_ACROSS, MOST_ACROSS = 20.0, 160.0  # between the cut and the middle line
MOST_STRETCH = 1.35
USUAL_RAKE, USUAL_JOIN_SHARE = 50.0, 0.45  # from memory
# Of the clay that a spout is thrown from, what is cut away at its foot and its tip; from memory.
CUT_AWAY, CUT_AWAY_LOW, CUT_AWAY_HIGH = 0.5, 0.4, 0.65


@dataclass(frozen=True, slots=True)
class ThrownSpout:
    """A spout on its pot.

    ``join_mm`` is the height above the foot at which its middle line meets the wall, ``length_mm`` from there to the
    middle of its cut, ``base_mm`` and ``tip_mm`` its outside across at the wall and at the tip. ``cut_deg`` is how far the
    cut dips towards the front, 0 level; 90 less the rake is a cut square to the spout.
    """

    join_mm: float
    length_mm: float
    rake_deg: float
    base_mm: float
    tip_mm: float
    wall_mm: float
    cut_deg: float = 0.0
    holes: int = 0
    hole_mm: float = 0.0

    def __post_init__(self) -> None:
        for name, size in (
            ("join of the spout", self.join_mm),
            ("length of the spout", self.length_mm),
            ("base of the spout", self.base_mm),
            ("tip of the spout", self.tip_mm),
            ("wall of the spout", self.wall_mm),
        ):
            positive(size, name, "mm")
        not_negative(self.hole_mm, "strainer hole", "mm")
        not_negative(float(self.holes), "strainer holes")
        _angle(self.rake_deg, "rake of the spout", LEAST_RAKE, MOST_RAKE)
        _angle(self.cut_deg, "cut of the spout", -60.0, 85.0)
        _cut_across(self.rake_deg, self.cut_deg)
        if self.bore_mm <= 0 or self.base_mm < self.tip_mm:
            raise OutOfRange(
                f"spout {self.base_mm:g} mm wide at the wall, {self.tip_mm:g} mm at the tip, {self.wall_mm:g} mm thick",
                why="it narrows towards the tip and must keep a bore there",
                mend="Give outside widths, the base the wider; or make its wall thinner",
            )

    @property
    def bore_mm(self) -> float:
        """Inside width at the tip, its narrowest."""
        return self.tip_mm - 2 * self.wall_mm

    @property
    def stretch(self) -> float:
        """How much higher than wide the oval is that its foot makes on the wall: as the rake cuts a round, within reason."""
        return min(1 / math.cos(_rad(self.rake_deg)), MOST_STRETCH)

    def scaled(self, height_factor: float, width_factor: float) -> ThrownSpout:
        """The spout of its piece made taller and wider by factors; its own widths go with the mean of the two."""
        rise, out = self.length_mm * math.sin(_rad(self.rake_deg)), self.length_mm * math.cos(_rad(self.rake_deg))
        tall, far = rise * height_factor, out * width_factor
        mean = (height_factor + width_factor) / 2
        return replace(
            self,
            join_mm=self.join_mm * height_factor,
            length_mm=math.hypot(tall, far),
            rake_deg=math.degrees(math.atan2(tall, far)),
            base_mm=self.base_mm * mean,
            tip_mm=self.tip_mm * mean,
            wall_mm=self.wall_mm * mean,
            hole_mm=self.hole_mm * mean,
        )


def _rad(degrees: float) -> float:
    return math.radians(degrees)


def _cut_across(rake_deg: float, cut_deg: float) -> None:
    if not LEAST_ACROSS <= rake_deg + cut_deg <= MOST_ACROSS:
        raise OutOfRange(
            f"cut of {cut_deg:g} degrees on a rake of {rake_deg:g}",
            why="the cut would run along the spout instead of across it",
            mend=f"A level cut is 0, a square one {90 - rake_deg:g}",
        )


def _angle(value: float, name: str, low: float, high: float) -> None:
    if not (math.isfinite(value) and low <= value <= high):
        raise OutOfRange(
            f"{name} is {value:g} degrees", why=f"it lies between {low:g} and {high:g}", mend="Count it from level"
        )


def drop_mm(bore_mm: float, rake_deg: float, cut_deg: float) -> float:
    """How far the lowest place of the cut's edge lies below its middle.

    Source: a plane through a cylinder's axis point: half the bore over the sine of the angle between plane and axis, times
    the sine of the plane's own lean (trigonometry).
    """
    return bore_mm / 2 * math.sin(_rad(abs(cut_deg))) / math.sin(_rad(rake_deg + cut_deg))


def spout_pours_at_mm(spout: ThrownSpout) -> float:
    """Height above the foot at which liquid runs out of the tip: the lowest place of its bore at the cut."""
    middle = spout.join_mm + spout.length_mm * math.sin(_rad(spout.rake_deg))
    return middle - drop_mm(spout.bore_mm, spout.rake_deg, spout.cut_deg)


def placed(
    full_mm: float,
    base_mm: float,
    tip_mm: float,
    wall_mm: float,
    join_mm: float | None = None,
    length_mm: float | None = None,
    rake_deg: float | None = None,
    cut_deg: float = 0.0,
    holes: int = 0,
    hole_mm: float = 0.0,
    above_mm: float = 0.0,
) -> ThrownSpout:
    """A spout whose tip pours at the full level, by whichever of join, length and rake is left out.

    Where two or three are left out, the usual rake and then the usual place are taken, and its length follows. Where all
    three are given they stand, and its tip comes where it comes.

    Args:
        full_mm: level of the full pot above the foot.
        base_mm, tip_mm, wall_mm, cut_deg, holes, hole_mm, join_mm, length_mm, rake_deg: as in `ThrownSpout`.
        above_mm: how far above the full level the tip is wanted.
    Raises:
        OutOfRange: if no such spout reaches the level, or a size cannot be.
    Source: liquid stands level in vessels that are joined; trigonometry.
    """
    level = positive(full_mm, "full level", "mm") + not_negative(above_mm, "tip above the full level", "mm")
    bore = positive(tip_mm - 2 * wall_mm, "bore of the spout", "mm")
    if join_mm is None and (length_mm is None or rake_deg is None):
        join_mm = USUAL_JOIN_SHARE * full_mm
    if rake_deg is None:
        rake_deg = USUAL_RAKE if length_mm is None else _rake(level - (join_mm or 0.0), length_mm, bore, cut_deg)
    _angle(rake_deg, "rake of the spout", LEAST_RAKE, MOST_RAKE)
    _cut_across(rake_deg, cut_deg)
    rise = math.sin(_rad(rake_deg))
    drop = drop_mm(bore, rake_deg, cut_deg)
    if length_mm is None:
        length_mm = (level + drop - (join_mm or 0.0)) / rise
        if length_mm <= 0:
            raise OutOfRange(
                f"spout joined {join_mm:g} mm up",
                why=f"the full level is {level:g} mm up, so that its tip is there already",
                mend="Join it lower",
            )
    if join_mm is None:
        join_mm = level + drop - length_mm * rise
        if join_mm <= 0:
            raise OutOfRange(
                f"spout {length_mm:g} mm long, raked {rake_deg:g} degrees",
                why="to bring its tip down to the full level it would be joined below the foot",
                mend="Make it shorter or less steep",
            )
    return ThrownSpout(join_mm, length_mm, rake_deg, base_mm, tip_mm, wall_mm, cut_deg, holes, hole_mm)


def _rake(rise_mm: float, length_mm: float, bore_mm: float, cut_deg: float) -> float:
    """The rake at which a spout of a length rises so far, by halving."""
    low, high = max(LEAST_RAKE, LEAST_ACROSS - cut_deg), MOST_RAKE

    def comes_to(rake: float) -> float:
        return length_mm * math.sin(_rad(rake)) - drop_mm(bore_mm, rake, cut_deg)

    if comes_to(high) < rise_mm or comes_to(low) > rise_mm:
        raise OutOfRange(
            f"spout {length_mm:g} mm long",
            why=f"its tip must rise {rise_mm:.0f} mm above its join, which no rake of {low:g} to {high:g} degrees gives",
            mend="Make it longer, or join it higher"
            if comes_to(high) < rise_mm
            else "Make it shorter, or join it lower",
        )
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if comes_to(middle) < rise_mm else (low, middle)
    return (low + high) / 2


def reach_mm(profile: Profile, spout: ThrownSpout) -> float:
    """How far the spout stands out from the centre line at its tip's front edge."""
    out = profile.radius_at_mm(spout.join_mm) + spout.length_mm * math.cos(_rad(spout.rake_deg))
    front = spout.tip_mm / 2 / math.sin(_rad(spout.rake_deg + spout.cut_deg)) * math.cos(_rad(spout.cut_deg))
    return out + front


@dataclass(frozen=True, slots=True)
class SpoutClay:
    """Clay of a spout: fired weight, the ball to throw it from with its range, and the working."""

    fired_g: float
    ball_g: float
    low_g: float
    high_g: float
    steps: tuple[Step, ...]


def spout_clay(
    spout: ThrownSpout,
    volume_mm3: float,
    density_g_per_ml: float = FIRED_DENSITY.value,
    water_share: float = 0.21,
    loss_on_ignition: float = 0.065,
    cut_away: float = CUT_AWAY,
) -> SpoutClay:
    """What a fired spout weighs, and the ball that it is thrown from.

    Args:
        spout: fired.
        volume_mm3: of its solid, whose foot is cut to the wall.
        density_g_per_ml: of the fired body.
        water_share, loss_on_ignition, cut_away: shares of the wet weight, of the dry weight, of the ball.
    Raises:
        OutOfRange: if a share or the density cannot be.
    """
    share(water_share, "water", "the wet weight")
    share(loss_on_ignition, "loss on ignition", "the dry weight")
    share(cut_away, "cut away", "the ball")
    volume = positive(volume_mm3, "clay of the spout", "mm3")
    fired_g = volume / MM3_PER_ML * positive(density_g_per_ml, "density", "g/ml")
    kept_g = fired_g / ((1 - water_share) * (1 - loss_on_ignition))
    ball_g = kept_g / (1 - cut_away)
    low, high = (kept_g / (1 - edge) for edge in (min(CUT_AWAY_LOW, cut_away), max(CUT_AWAY_HIGH, cut_away)))
    sizes = {"length_mm": spout.length_mm, "wall_mm": spout.wall_mm, "tip_mm": spout.tip_mm, "base_mm": spout.base_mm}
    steps = (
        Step(
            "spout: fired clay",
            "",
            sizes,
            volume,
            "derived",
            unit="mm3",
            how="space within the faces of its solid, its foot cut to the wall",
        ),
        Step(
            "spout: fired weight",
            "volume_mm3 / 1000 * density_g_per_ml",
            {"volume_mm3": volume, "density_g_per_ml": density_g_per_ml},
            fired_g,
            "derived",
            unit="g",
        ),
        Step(
            "spout: ball",
            "fired_g / ((1 - water_share) * (1 - loss_on_ignition)) / (1 - cut_away)",
            {
                "fired_g": fired_g,
                "water_share": water_share,
                "loss_on_ignition": loss_on_ignition,
                "cut_away": cut_away,
            },
            ball_g,
            "from memory",
            unit="g",
            low=low,
            high=high,
        ),
    )
    return SpoutClay(fired_g, ball_g, low, high, steps)


def spout_steps(spout: ThrownSpout, full_mm: float, in_it_ml: float) -> tuple[Step, ...]:
    """Working of where a spout pours, what stands in it, and whether its strainer lets through what its bore does.

    Args:
        spout: fired, so that sizes are those after glaze firing; glaze narrows holes further.
        full_mm: level of the full pot above the foot.
        in_it_ml: what stands in the spout then.
    Source: common practice: the tip stands no lower than the full level, the holes together are no less than the bore.
    """
    middle = spout.join_mm + spout.length_mm * math.sin(_rad(spout.rake_deg))
    tip = spout_pours_at_mm(spout)
    rake = math.pi / 180 * spout.rake_deg
    given = {"join_mm": spout.join_mm, "length_mm": spout.length_mm, "rake": rake}
    lean = {"bore_mm": spout.bore_mm, "rake": rake, "cut": math.pi / 180 * spout.cut_deg, "middle_mm": middle}
    found = [
        Step(
            "spout: middle of the cut above the foot", "join_mm + length_mm * sin(rake)", given, middle, "derived", "mm"
        ),
        Step(
            "spout: pours at, above the foot",
            "middle_mm - bore_mm / 2 * abs(sin(cut)) / sin(rake + cut)",
            lean,
            tip,
            "derived",
            "mm",
        ),
        Step(
            "spout: tip above the full level",
            "tip_mm - full_mm",
            {"tip_mm": tip, "full_mm": full_mm},
            tip - full_mm,
            "common-practice",
            "mm",
        ),
        Step(
            "spout: stands in it when full",
            "",
            {"full_mm": min(full_mm, tip), "join_mm": spout.join_mm, "bore_mm": spout.bore_mm},
            in_it_ml,
            "derived",
            "ml",
            how="its bore, as drawn, from the wall up to the level",
        ),
        Step(
            "spout: bore at the tip",
            "pi / 4 * bore_mm ** 2",
            {"bore_mm": spout.bore_mm},
            math.pi / 4 * spout.bore_mm**2,
            "derived",
            "mm2",
        ),
    ]
    if spout.hole_mm > 0:
        holes = {"holes": float(spout.holes), "hole_mm": spout.hole_mm}
        area = spout.holes * math.pi / 4 * spout.hole_mm**2
        needed = math.ceil((spout.bore_mm / spout.hole_mm) ** 2 - 1e-9)
        found += [
            Step("spout: strainer holes together", "holes * pi / 4 * hole_mm ** 2", holes, area, "derived", "mm2"),
            Step(
                "spout: holes that let through what the bore does",
                "ceil((bore_mm / hole_mm) ** 2 - 1e-9)",
                {"bore_mm": spout.bore_mm, "hole_mm": spout.hole_mm},
                float(needed),
                "common-practice",
            ),
        ]
    return tuple(found)
