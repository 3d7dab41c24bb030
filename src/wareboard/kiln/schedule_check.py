"""What to look at in a schedule before it is fired: steam, burn-out, the inversions, long holds, fumes and heat.

Lag and stress through the wall are orders of magnitude, told where they matter; what the kiln itself cannot do is told where
the kiln is given.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.errors import OutOfRange
from wareboard.given import positive
from wareboard.kiln.figures import firing_figure
from wareboard.kiln.segment import Notice, Schedule, plot_points
from wareboard.kiln.wall import wall_rate
from wareboard.working import Step, per_cent

if TYPE_CHECKING:
    from wareboard.kiln.thermal import Fired, KilnModel

HEAVY_MM = 10.0  # from here on a wall is cooled as heavy ware
LONG_HOLD_MIN = 60.0
LAG_C = 5.0  # a middle that lags by less than a thermocouple errs is not worth a word
STRESS_SHARE = 0.25  # strength scatters by a factor, so a quarter of it already asks for a look
WETTEST_SHARE = 0.40
BOILING_C, STEAM_J_PER_KG = 100.0, 2.257e6  # heat of vaporisation of water at 100 °C, any steam table
LATE_MIN, OVER_C = 20.0, 20.0
WATER_FILM = 5000.0  # W/(m² K), ware plunged into water


def rate_through(schedule: Schedule, low_c: float, high_c: float, falling: bool) -> float:
    """Fastest programmed rate, °C/h, while between two temperatures on the way up or down; 0 if it never passes there."""
    before, fastest = schedule.start_c, 0.0
    for segment in schedule.segments:
        down = segment.target_c < before
        foot, top = min(before, segment.target_c), max(before, segment.target_c)
        if down == falling and foot < high_c and top > low_c and foot != top:
            fastest = max(fastest, segment.rate_c_per_h)
        before = segment.target_c
    return fastest


def wall_lag_share(fo: ArrayLike) -> NDArray[np.float64]:
    """Share of its final lag that the middle of a wall has reached, at fo = diffusivity x time / half thickness squared.

    Source: carslaw-jaeger, slab whose faces rise at a steady rate: 1 - 32/π³ Σ (-1)ⁿ (2n+1)⁻³ exp(-(2n+1)² π² fo / 4).
    """
    number = 2.0 * np.arange(40.0) + 1.0
    signs = np.where(np.arange(40) % 2, -1.0, 1.0)
    decay = np.exp(-(number**2) * np.pi**2 / 4.0 * np.asarray(fo, dtype=np.float64)[..., None])
    return np.asarray(1.0 - 32.0 / np.pi**3 * np.sum(signs / number**3 * decay, axis=-1))


def wall_lag(wall_mm: float, rate_c_per_h: float, diffusivity_m2_per_s: float | None = None) -> Step:
    """How far the middle of a wall heated from both faces lags them at last, °C.

    Args:
        wall_mm: whole thickness, 1 to 60 mm.
        rate_c_per_h: steady rate of the faces, either way.
        diffusivity_m2_per_s: by default 5e-7, from memory.
    Raises:
        OutOfRange: outside these.
    Source: carslaw-jaeger: rate x half thickness squared / (2 x diffusivity), for rates and times in seconds.
    """
    wall_rate(wall_mm)  # refuses what is no wall
    figure = firing_figure("diffusivity_ware")
    alpha = figure.value if diffusivity_m2_per_s is None else diffusivity_m2_per_s
    if not (math.isfinite(alpha) and alpha > 0.0 and math.isfinite(rate_c_per_h)):
        raise OutOfRange(
            f"rate {rate_c_per_h:g} °C/h, diffusivity {alpha:g} m²/s",
            "a lag needs both as numbers",
            "Give both, or neither",
        )
    inputs = {"rate_c_per_h": abs(rate_c_per_h), "wall_mm": wall_mm, "diffusivity_m2_per_s": alpha}
    formula = "rate_c_per_h / 3600 * (wall_mm / 2000) ** 2 / (2 * diffusivity_m2_per_s)"
    lag = abs(rate_c_per_h) / 3600.0 * (wall_mm / 2000.0) ** 2 / (2.0 * alpha)
    low, high = (
        (lag * alpha / edge for edge in (figure.high, figure.low)) if diffusivity_m2_per_s is None else (lag, lag)
    )
    return Step(
        "lag of the middle of the wall", formula, inputs, lag, "carslaw-jaeger", "°C", low, high, key="wall_lag_c"
    )


@dataclass(frozen=True, slots=True)
class ShockBody:
    """A fired body as thermal shock sees it; the usual figures are from memory, and its strength scatters by a factor."""

    strength_mpa: float
    modulus_gpa: float
    poisson: float
    expansion_per_k: float
    conductivity_w_per_m_k: float

    @property
    def r_k(self) -> float:
        """R = strength (1 - ν) / (E x expansion), K: the sudden step that an endlessly cooled face just bears."""
        strain = self.strength_mpa / (1000.0 * self.modulus_gpa)
        return strain * (1.0 - self.poisson) / self.expansion_per_k

    @property
    def r_prime_w_per_m(self) -> float:
        """R' = R x conductivity, W/m: what a body bears where heat leaves it slowly."""
        return self.r_k * self.conductivity_w_per_m_k


def usual_body() -> ShockBody:
    """Vitrified stoneware, from memory."""
    names = ("strength_mpa", "modulus_gpa", "poisson", "expansion_per_k", "conductivity_ware")
    return ShockBody(*(firing_figure(name).value for name in names))


def shock_step_k(wall_mm: float, film_w_per_m2_k: float, body: ShockBody | None = None) -> float:
    """Sudden step of temperature that a wall bears in air or water, K: an order of magnitude, since strength scatters.

    Args:
        wall_mm: whole thickness, cooled from both faces.
        film_w_per_m2_k: 100 in a draught of air, 1000 to 5000 in water.
    Raises:
        OutOfRange: if the wall or the film is not a finite number above 0.
    Source: manson-kingery: R / ψ, with 1/ψ = 1.5 + 3.25/Bi - 0.5 exp(-16/Bi) and Bi over half the thickness.
    """
    of = body or usual_body()
    film = positive(film_w_per_m2_k, "film of air or water", "W/(m2 K)")
    bi = film * (positive(wall_mm, "wall", "mm") / 2000.0) / of.conductivity_w_per_m_k
    return of.r_k * (1.5 + 3.25 / bi - 0.5 * math.exp(-16.0 / bi))


def surface_when_dry(wall_mm: float, water_share: float, rate_c_per_h: float) -> Step:
    """Where the faces of a wet wall stand when the last water in its middle has boiled, °C: an order of magnitude.

    Args:
        wall_mm: whole thickness, 1 to 60 mm.
        water_share: water held, fraction of the dry weight, 0 to 0.40.
        rate_c_per_h: rate past 100 °C.
    Raises:
        OutOfRange: if the wall, the water or the rate lies outside what is said above.
    Source: derived: a boiling front moves in by conduction through dry clay (Stefan), x² = k b t² / (density x water x heat
        of vaporisation); conductivity and density of dry clay from memory. Steam is taken to leave freely.
    """
    wall_rate(wall_mm)
    if not (0.0 <= water_share <= WETTEST_SHARE and math.isfinite(rate_c_per_h) and rate_c_per_h >= 0.0):
        raise OutOfRange(
            f"water of {water_share:g} at {rate_c_per_h:g} °C/h",
            why=f"ware holds from 0 to {WETTEST_SHARE:g} of its dry weight as water",
            mend="Write 3 % as 0.03, and the rate in °C per hour",
        )
    k, density = firing_figure("conductivity_dry"), firing_figure("density_dry").value
    inputs = {
        "wall_mm": wall_mm,
        "water_share": water_share,
        "rate_c_per_h": rate_c_per_h,
        "density_kg_per_m3": density,
        "heat_j_per_kg": STEAM_J_PER_KG,
        "conductivity_w_per_m_k": k.value,
    }
    rise = "density_kg_per_m3 * water_share * heat_j_per_kg * rate_c_per_h / 3600 / conductivity_w_per_m_k"
    above = wall_mm / 2000.0 * math.sqrt(density * water_share * STEAM_J_PER_KG * rate_c_per_h / 3600.0 / k.value)
    low, high = (BOILING_C + above * math.sqrt(k.value / edge) for edge in (k.high, k.low))
    name, formula = "faces when the last water has boiled", f"100 + wall_mm / 2000 * sqrt({rise})"
    return Step(name, formula, inputs, BOILING_C + above, "derived", "°C", low, high)


def schedule_notices(
    schedule: Schedule,
    thickest_mm: float = 6.0,
    cristobalite: bool = False,
    *,
    wettest_share: float = 0.0,
    kiln: KilnModel | None = None,
) -> tuple[Notice, ...]:
    """What to look at in this schedule for a load of this thickness; nothing here bars the firing.

    Args:
        schedule: any schedule, ours or written by hand.
        thickest_mm: thickest place in the load.
        cristobalite: whether the body is known to hold cristobalite.
        wettest_share: water in the wettest board, fraction of its dry weight, 0 to 0.40.
        kiln: the kiln with its load; given, the schedule is followed as heat and what the kiln cannot do is told.
    Raises:
        OutOfRange: for a wall or water outside what is known.
    Source: reference/kiln/firing.csv; the wall limits are common practice.
    """
    checks = (_steam, _burn_out, _quartz_rising, _quartz_falling, _long_hold, _lag, _stress)
    found = [notice for check in checks for notice in check(schedule, thickest_mm)]
    found.extend(_wettest(schedule, thickest_mm, wettest_share))
    found.extend(_cristobalite(schedule, cristobalite))
    if kiln is not None:
        found.extend(_beyond_the_kiln(schedule, kiln))
    found.append(_opening(thickest_mm))
    found.append(_fumes(schedule))
    return tuple(found)


def _steam(schedule: Schedule, thickest_mm: float) -> Iterator[Notice]:
    if schedule.kind == "glaze":
        return
    limit, rate = wall_rate(thickest_mm).value, rate_through(schedule, 100.0, 550.0, falling=False)
    if rate > 1.05 * limit:
        yield Notice(
            f"{rate:g} °C/h up to 550 °C with a wall of {thickest_mm:g} mm",
            f"the trade takes some {limit:.0f} °C/h for that wall; steam and bound water burst faster ware",
            f"Slow the ramp to {limit:.0f} °C/h, or dry and candle longer",
        )
    if schedule.candle_h == 0.0 and thickest_mm > 5.0:
        yield Notice(
            "no candle below 100 °C",
            f"a wall of {thickest_mm:g} mm holds free water that leaves as steam",
            "Hold at 80 to 95 °C, or be sure that the ware is bone dry",
        )


def _burn_out(schedule: Schedule, thickest_mm: float) -> Iterator[Notice]:
    if schedule.kind == "glaze":
        return
    low, high = firing_figure("burn_out_low").value, firing_figure("seal_c").value
    rate = rate_through(schedule, 600.0, high, falling=False)
    if rate > firing_figure("rate_bisque_high").value or (thickest_mm >= HEAVY_MM and rate > 0.0):
        yield Notice(
            f"burn-out from {low:g} to {high:g} °C at up to {rate:g} °C/h",
            "carbon and sulphur need time and air before the surface seals; what stays behind cores black, bloats, or "
            "pinholes the glaze",
            "Keep the vent open, leave air between pieces, and for thick or dark clay hold an hour at 850 to 900 °C",
        )


def _quartz_rising(schedule: Schedule, thickest_mm: float) -> Iterator[Notice]:
    rate, limit = rate_through(schedule, 550.0, 600.0, falling=False), wall_rate(thickest_mm).value
    if schedule.kind == "glaze" and rate > 1.5 * limit:
        yield Notice(
            f"{rate:g} °C/h through the quartz inversion with a wall of {thickest_mm:g} mm",
            "free quartz grows suddenly at 573 °C, and a thick wall is not at one temperature",
            f"Slow the ramp between 550 and 600 °C to {limit:.0f} °C/h",
        )


def _quartz_falling(schedule: Schedule, thickest_mm: float) -> Iterator[Notice]:
    rate = rate_through(schedule, 500.0, 600.0, falling=True)
    heavy = thickest_mm >= HEAVY_MM
    limit = firing_figure("quartz_cool_thick" if heavy else "quartz_cool_thin").high
    if rate > limit:
        yield Notice(
            f"cooling at {rate:g} °C/h through the quartz inversion",
            f"free quartz shrinks suddenly at 573 °C; {'heavy' if heavy else 'thin'} ware is taken through 600 to 500 °C "
            f"at no more than {limit:g} °C/h",
            "Slow the fall there, or leave the kiln shut to fall by itself",
        )
    elif rate == 0.0 and heavy:
        yield Notice(
            f"no held fall through 600 to 500 °C with a wall of {thickest_mm:g} mm",
            "heavy ware dunts at the quartz inversion if a light kiln falls faster than 50 to 60 °C/h",
            "Program the fall there, and leave the kiln shut",
        )


def _cristobalite(schedule: Schedule, cristobalite: bool) -> Iterator[Notice]:
    figure, rate = firing_figure("cristobalite_c"), rate_through(schedule, 200.0, 270.0, falling=True)
    limit = firing_figure("cristobalite_cool")
    if cristobalite or rate > limit.high:
        yield Notice(
            f"cristobalite inversion near {figure.value:g} °C on the way down",
            "cristobalite shrinks by about 1 % there; bodies that hold it crack if draughts or opened lids hurry them",
            f"Keep the kiln shut from {figure.high:g} to {figure.low:g} °C, or hold the fall to {limit.value:g} °C/h",
        )


def _long_hold(schedule: Schedule, thickest_mm: float) -> Iterator[Notice]:
    hold = max(segment.hold_min for segment in schedule.segments if segment.target_c == schedule.peak_c)
    if hold > LONG_HOLD_MIN:
        yield Notice(
            f"hold of {hold:g} min at the peak",
            "the longer the hold, the less surely the heat-work model and common practice agree on the peak",
            "Stand witness cones on every level and trim the hold by what they show",
        )


def _lags(schedule: Schedule, thickest_mm: float) -> Iterator[tuple[float, float, float, float]]:
    """Each ramp as (from °C, to °C, °C/h, lag of the middle at its end), by the closed form in the time that it has."""
    alpha = firing_figure("diffusivity_ware").value
    hours, temps = plot_points(schedule)
    for (h0, h1), (c0, c1) in zip(pairwise(hours), pairwise(temps), strict=True):
        if c1 == c0 or h1 == h0:
            continue
        rate = float((c1 - c0) / (h1 - h0))
        reached = float(wall_lag_share(alpha * (h1 - h0) * 3600.0 / (thickest_mm / 2000.0) ** 2))
        yield float(c0), float(c1), rate, wall_lag(thickest_mm, rate).value * reached


def _lag(schedule: Schedule, thickest_mm: float) -> Iterator[Notice]:
    worst = max(_lags(schedule, thickest_mm), key=lambda each: each[3], default=(0.0, 0.0, 0.0, 0.0))
    if worst[3] > LAG_C:
        yield Notice(
            f"the middle of a wall of {thickest_mm:g} mm lags its faces by some {worst[3]:.0f} °C on the way from "
            f"{worst[0]:.0f} to {worst[1]:.0f} °C",
            "an order of magnitude; the middle meets steam, the inversions and the peak that much later",
            "Hold long enough for the middle to follow, or slow that ramp",
        )


def _stress(schedule: Schedule, thickest_mm: float) -> Iterator[Notice]:
    """Tension against strength: in the faces on a fall, two thirds of the lag over R; in the middle on a rise, one third."""
    body = usual_body()
    used = [
        (lag * (1.0 if rate > 0.0 else 2.0) / 3.0 / body.r_k, rate) for *_, rate, lag in _lags(schedule, thickest_mm)
    ]
    share, rate = max(used, default=(0.0, 0.0))
    if share > STRESS_SHARE:
        yield Notice(
            f"{'heating' if rate > 0.0 else 'cooling'} at {abs(rate):.0f} °C/h takes some {per_cent(share)} of the strength "
            f"of a wall of {thickest_mm:g} mm",
            f"order of magnitude only: R is about {body.r_k:.0f} K and R' {body.r_prime_w_per_m:.0f} W/m for sound "
            "vitrified ware, from memory, and strength scatters by a factor; bisque and cracked ware bear less",
            "Slow that stretch",
        )


def _wettest(schedule: Schedule, thickest_mm: float, wettest_share: float) -> Iterator[Notice]:
    """A board that is not bone dry: where its faces stand while its middle still boils."""
    rate = rate_through(schedule, BOILING_C, BOILING_C + 50.0, falling=False)
    faces = surface_when_dry(thickest_mm, wettest_share, rate)
    if wettest_share > firing_figure("bone_dry_water").high:
        yield Notice(
            f"the wettest board holds {per_cent(wettest_share, 1)} water in a wall of {thickest_mm:g} mm",
            f"at {rate:g} °C/h its faces would stand at some {faces.value:.0f} °C while its middle still boils, could the "
            "steam leave freely; it cannot, and bursts the ware",
            "Leave that board out, or hold the kiln at 80 to 95 °C until a weighed piece loses no more weight",
        )


def _beyond_the_kiln(schedule: Schedule, kiln: KilnModel) -> Iterator[Notice]:
    """Where the schedule outruns the kiln: it is followed as heat, the controller waiting as controllers do."""
    from wareboard.kiln.thermal import simulate

    fired = simulate(kiln, schedule, cool_to_c=None, step_s=120.0)
    if not fired.reached:
        hottest = float(fired.chamber_c.max())
        yield Notice(
            f"this kiln stalls at some {hottest:.0f} °C, {schedule.peak_c - hottest:.0f} °C under the peak",
            f"it gives {kiln.full_kw:.1f} kW, and its wall and leaks alone lose {kiln.loss_kw(schedule.peak_c):.1f} kW at "
            f"{schedule.peak_c:g} °C, by its model, which is known to some 12 %",
            "Have an electrician look at elements and voltage, or fire to a softer cone",
        )
        return
    yield from _outrun(schedule, kiln, fired)


def _outrun(schedule: Schedule, kiln: KilnModel, fired: Fired) -> Iterator[Notice]:
    """Ramps that the kiln takes much longer over than is programmed, and falls that it cannot follow."""
    from wareboard.kiln.log import FiringLog
    from wareboard.kiln.log_review import review

    count = len(fired.times_s)
    met = review(FiringLog(fired.times_s, fired.chamber_c, ("model",), "0", range(1, count + 1), ()), schedule).met
    before_c, behind_min = schedule.start_c, 0.0
    for each in met:
        target, rate = each.planned.target_c, each.planned.rate_c_per_h
        if target > before_c and each.late_min is not None and each.rate_c_per_h is not None:
            if each.late_min - behind_min > LATE_MIN:
                yield Notice(
                    f"the ramp of {rate:g} °C/h from {before_c:g} to {target:g} °C outruns this kiln, which climbs at some "
                    f"{each.rate_c_per_h:.0f} °C/h there and comes {each.late_min - behind_min:.0f} min late",
                    f"{kiln.full_kw:.1f} kW must heat {kiln.ware_kg:g} kg of ware and {kiln.shelves_kg:g} kg of shelves and "
                    f"meet losses of {kiln.loss_kw(target):.1f} kW at {target:g} °C; a slower last ramp does more heat work",
                    f"Program {0.9 * each.rate_c_per_h:.0f} °C/h there and solve the peak for it, or fire less weight",
                )
            behind_min = each.late_min
        before_c = target
    over = float(fired.chamber_c[-1]) - schedule.end_c
    if schedule.end_c < schedule.peak_c and over > OVER_C:
        yield Notice(
            f"the programmed fall to {schedule.end_c:g} °C outruns this kiln, which is still {over:.0f} °C hotter then",
            "with the power off it falls by its own losses and no faster",
            "Reckon with a later opening, and leave lid and vents alone",
        )


def _opening(thickest_mm: float) -> Notice:
    step_k = shock_step_k(thickest_mm, WATER_FILM)
    whole, plates = firing_figure("open_c"), firing_figure("open_plates_c")
    return Notice(
        "opening",
        "ware dunts in a draught, plates first, and hot shelves burn; cold water cracks even a sound "
        f"wall of this thickness that is some {step_k:.0f} K hotter, order of magnitude",
        f"Open below {whole.value:g} °C, with plates below {plates.value:g} °C",
    )


def _fumes(schedule: Schedule) -> Notice:
    gases = "carbon monoxide and sulphur gases" if schedule.kind == "bisque" else "metal fumes and gases"
    return Notice(
        "fumes, heat and glare",
        f"a firing gives off {gases}, and a hot spyhole dazzles in the infrared",
        "Run the vent, look through welding-type glasses, keep the clearance its maker asks, be there at the end",
    )
