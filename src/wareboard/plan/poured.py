"""What a form pours by: a pulled lip, a thrown spout, and how much it holds until it runs over."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from wareboard.errors import OutOfRange, placed
from wareboard.plan.assume import Assumer
from wareboard.plan.body import Body
from wareboard.plan.brief import Form
from wareboard.working import Estimate, Step

if TYPE_CHECKING:
    from wareboard.form.lip import PulledLip
    from wareboard.form.profile import Profile
    from wareboard.form.spout import SpoutClay, ThrownSpout
    from wareboard.form.vessel import Vessel

OWN_SPOUT_APART = 0.01  # a spout thrown wetter than its pot shrinks about a point apart from it: common practice


@dataclass(frozen=True, slots=True)
class Poured:
    """Fired lip and spout of a form, the level wanted full, the spout's clay, and the working."""

    lip: PulledLip | None = None
    spout: ThrownSpout | None = None
    full_mm: float | None = None
    clay: SpoutClay | None = None
    steps: tuple[Step, ...] = ()
    given_ball_g: float | None = None

    @property
    def spout_ball_g(self) -> float | None:
        """The ball that a spout is thrown from: the brief's, else what its clay asks for."""
        return self.given_ball_g or (self.clay.ball_g if self.clay else None)


NOTHING = Poured()


def poured_of(form: Form, profile: Profile, body: Body, wide: Estimate, assume: Assumer) -> Poured:
    """Lip and spout with the sizes that the brief leaves out filled in; nothing where it names neither.

    Raises:
        OutOfRange: naming the form, where lip or spout do not go on it.
    """
    if form.lip is None and form.spout is None:
        return NOTHING
    with placed(form.name):
        lip = _lip(form, profile, assume)
        spout = _spout(form, profile, assume)
        return _worked(form, profile, lip, spout, body, wide)


def _lip(form: Form, profile: Profile, assume: Assumer) -> PulledLip | None:
    from wareboard.form.lip import PulledLip

    given = form.lip
    if given is None:
        return None
    across, tall = profile.rim_mm, profile.height_mm
    return PulledLip(
        _share_of(across, "lip.out_share", given.out, assume),
        _share_of(across, "lip.width_share", given.width, assume),
        _share_of(tall, "lip.down_share", given.down, assume),
        given.dip or 0.0,
    )


def _share_of(size_mm: float, key: str, given: float | None, assume: Assumer) -> float:
    return given if given is not None else size_mm * assume.figure(key).value


def _spout(form: Form, profile: Profile, assume: Assumer) -> ThrownSpout | None:
    from wareboard.form.spout import placed

    given = form.spout
    if given is None:
        return None
    holes, hole = given.holes, given.hole
    if holes and hole is None:
        hole = assume.figure("spout.hole_mm").value
    return placed(
        full_level_mm(form, profile),
        _share_of(profile.widest_mm, "spout.base_share", given.base, assume),
        assume.figure("spout.tip_mm", given.tip).value,
        assume.figure("spout.wall_mm", given.wall).value,
        given.join,
        given.length,
        given.rake,
        given.cut or 0.0,
        holes or 0,
        hole or 0.0,
    )


def full_level_mm(form: Form, profile: Profile) -> float:
    """The level of the full pot: the brief's, else its rim.

    Raises:
        OutOfRange: if that is above the rim.
    """
    full = form.spout.full if form.spout else None
    if full is None:
        return profile.height_mm
    if not float(profile.inner_mm[0, 0]) < full <= profile.height_mm:
        raise OutOfRange(
            f"full at {full:g} mm",
            why=f"the inside runs from {profile.inner_mm[0, 0]:g} to {profile.height_mm:g} mm above the foot",
            mend="Count the full level from the table that the piece stands on",
        )
    return full


def _worked(
    form: Form, profile: Profile, lip: PulledLip | None, spout: ThrownSpout | None, body: Body, wide: Estimate
) -> Poured:
    from wareboard.form.fit import spout_tip
    from wareboard.form.lip import lip_steps, pours_at_mm
    from wareboard.form.poured import held_ml, spout_part
    from wareboard.form.spout import drop_mm, spout_clay, spout_pours_at_mm, spout_steps
    from wareboard.form.vessel import capacity_ml

    found: list[Step] = []
    clay = None
    if lip is not None:
        found += lip_steps(profile, lip, capacity_ml(profile, pours_at_mm(profile, lip)))
    full = full_level_mm(form, profile) if spout is not None else None
    if spout is not None and full is not None:
        volume = spout_part(profile, spout).volume_mm3
        clay = spout_clay(spout, volume, body.fired_density.value, body.water.value, body.loss.value)
        level = min(full, spout_pours_at_mm(spout))
        found += [*spout_steps(spout, full, held_ml(profile, spout, level)), *clay.steps]
        own = Estimate(wide.value, max(0.0, wide.low - OWN_SPOUT_APART), wide.high + OWN_SPOUT_APART, "common-practice")
        wet = 1 / (1 - wide.value)
        down = drop_mm(spout.bore_mm, spout.rake_deg, spout.cut_deg)
        tip = spout_tip(spout.join_mm * wet, spout.length_mm * wet, spout.rake_deg, wide, own, full + down)
        found.append(replace(tip, name="spout: tip above the full level, shrinking apart from its pot"))
    return Poured(lip, spout, full, clay, tuple(found), form.spout.ball if form.spout else None)


def until_it_pours(vessel: Vessel, profile: Profile, poured: Poured, what: str) -> Vessel:
    """What the form holds until it runs over, in place of what it would hold to a whole rim."""
    from wareboard.form.poured_section import pour_level_mm
    from wareboard.form.vessel import capacity_ml

    level = min(pour_level_mm(profile, poured.lip, poured.spout), profile.height_mm)
    if level >= profile.height_mm:
        return vessel
    holds = capacity_ml(profile, max(level, float(profile.inner_mm[0, 0])))
    spread = vessel.capacity
    scale = holds / vessel.capacity_ml
    found = Estimate(holds, spread.low * scale, spread.high * scale, spread.source)
    step = Step(
        f"{what}: capacity to where it pours",
        "",
        {"level_mm": level, "brim_ml": vessel.capacity_ml},
        holds,
        "given in the brief",
        unit="ml",
        low=found.low,
        high=found.high,
        how="sum over slices of pi / 3 * height * (r1^2 + r1 * r2 + r2^2) up to the lowest place of lip or spout",
        key="capacity_poured",
    )
    return replace(vessel, capacity_ml=holds, capacity=found, steps=(*vessel.steps, step))


def poured_warnings(form_name: str, poured: Poured) -> Iterator[tuple[str, str, str]]:
    """What is wrong with how a form pours: what, why and the mend of each.

    Source: common practice: the tip no lower than the full level; the strainer's holes together no less than the bore.
    """
    from wareboard.form.spout import spout_pours_at_mm

    spout, full = poured.spout, poured.full_mm
    if spout is None or full is None:
        return
    below = full - spout_pours_at_mm(spout)
    if below > 0.05:
        yield (
            f"{form_name}: the spout's tip is {below:.1f} mm below the full level",
            "it pours over the table while the pot is being filled",
            "Rake it steeper, make it longer, join it higher, or fill less; leave one of the three out and it is worked out",
        )
    if spout.hole_mm > 0 and spout.holes * spout.hole_mm**2 < spout.bore_mm**2:
        needed = -int(-((spout.bore_mm / spout.hole_mm) ** 2) // 1)
        yield (
            f"{form_name}: {spout.holes} strainer holes of {spout.hole_mm:g} mm let through less than the spout's bore",
            f"it takes {needed} of them to have its area, and glaze narrows them further",
            "Cut more, or wider ones",
        )
