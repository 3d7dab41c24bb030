"""Where the camera stood, judged from the ellipses of the rim and the foot and from what lenses are like.

How flat the rim and the foot look tells from how high each is seen, and the two together how far off the camera stood.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from wareboard.form.curve import Floats
from wareboard.form.sightline import View

# Lenses in long sides of the picture, from memory: (share, lens, spread of its logarithm). Half of all pictures are taken
# with a telephone's main camera, 24 to 28 mm on film 36 mm wide; the others with anything from there to 100 mm.
USUAL_LENSES = ((0.5, 0.73, 0.07), (0.5, 1.4, 0.45))
TRIED_LENSES, KNOWN_LENS_SPREAD, LEAST_WEIGHT = (0.55, 3.2), 0.05, 0.003
FILM_MM = 36.0
# How upright the normal stands where an arc is surely ending, and how far round the corner to the wall it is followed.
TURNED, CORNER = 0.87, 0.3
# A camera under the rim is rarer than one over it by so many standard deviations.
LOW_CAMERA = 4.0
ARC_POINTS, LENSES_TRIED = 60, 25
DOT_SPREAD = 0.41  # of a point of the outline that its neighbours do not share, dots
LIP_SPREAD, FOOT_EDGE, FOOT_EDGE_SPREAD = 0.3, 0.004, 0.004
MOST_STEPS = 30
START_FARTHER, START_FLATNESS = 0.08, (1.0, 0.6)
# Points next to each other are off alike, and an arc that fits ill tells less: found on rendered pictures of known truth.
UNSURENESS, USUAL_MISFIT = 0.75, 0.16
# A rim that lies off its ring by more dots may have lost its back; its ends; how much better they must fit alone.
LOST_RIM_DOTS, LOST_RIM, LOST_RIM_BETTER = 0.4, 0.55, 0.6
RIM_AS_WIDE = 0.9  # of the outline where it ends
# Ellipses flatter than this are none; a dome's foot is flatter than its top by so much; how far out a bend is measured.
MOST_FLAT, DOME, INNER = 0.012, 0.35, 0.8
FAR_OFF = 1e5  # heights of the piece
# How much wider a ring is than the part of it that is followed.
RING_OUT, RING_SPREAD = 1.05, 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """The likeliest view, others with their weights, and how ill the arcs fit, dots.

    What the view leaves open of anything is the root of the weighed squares of how much the others change it.
    """

    view: View
    others: tuple[tuple[float, View], ...]
    rim_misfit: float
    foot_misfit: float
    unsureness: float = 1.0  # how many times wider than the fit's own numbers say its view is open
    level: bool = False
    rim_line: tuple[Floats, Floats] | None = None  # (r, v) of the rim's back, where the picture has lost it


@dataclass(frozen=True, slots=True, eq=False)
class Arc:
    """One end of the half outline, from the axis outward."""

    r: Floats
    v: Floats


def arc_of(r: Floats, v: Floats) -> Arc:
    """The end of a half line that begins at the axis, up to where it turns from the ring into the wall."""
    from scipy.ndimage import gaussian_filter1d

    rr = gaussian_filter1d(np.concatenate([-r[12:0:-1], r]), 2.5)
    vv = gaussian_filter1d(np.concatenate([v[12:0:-1], v]), 2.5)
    along_r, along_v = np.gradient(rr)[12:], np.gradient(vv)[12:]
    upright = np.clip(along_r, 0.0, None) / (np.hypot(along_r, along_v) + 1e-12)
    out = r > 0.25 * r.max()
    turned = np.flatnonzero((upright < TURNED) & out)
    first = int(turned[0]) if len(turned) else len(r) - 1
    wall = float(upright[first : first + max(8, len(r) // 16)].min())
    # Between ring and wall the line turns a corner; what lies before its middle is the ring.
    last = max(12, int(np.flatnonzero((upright < wall + CORNER * (1.0 - wall)) & out)[0]))
    at = np.unique(np.linspace(0, last - 1, ARC_POINTS).astype(int))
    return Arc(r[at], v[at])


def judge_view(
    r: Floats,
    v: Floats,
    long_side: float,
    lip: float,
    lens_35mm: float | None = None,
    tried: int = LENSES_TRIED,
    lens_spread: float = KNOWN_LENS_SPREAD,
    looks_down: tuple[float, float] | None = None,
) -> Judged:
    """The camera that sees a piece with this half outline.

    Rim and foot tell a near camera with a wide lens from a far one with a long lens only faintly, so a row of lenses is
    tried and each weighed by how well it fits and how common it is; the view is where the weighed nearness lies midmost.

    Args:
        r, v: (n,) half line from the top of the axis to its foot, dots, seen straight on.
        long_side: of the picture, dots.
        lip: radius of the half-round lip, in heights of the piece; taken as a likely value only.
        lens_35mm: focal length as on 35 mm film, where the picture names one.
        tried: how many lenses to try where it does not.
        lens_spread: of the logarithm of the lens that is known.
        looks_down: pitch of the view and its spread, radians, where something beside the piece tells it.
    Source: least squares of both arcs against rings under a pinhole camera, a ring's round edge letting its arc out by its
        radius; priors: lenses and lips.
    """
    fit = _Fit(arc_of(r, v), arc_of(r[::-1], v[::-1]), float(v[0]), float(v[-1]), lip, looks_down)
    lenses, common = _lenses(lens_35mm, tried, lens_spread)
    focals = np.log(lenses * long_side)
    found = _weighed(fit, focals, common)
    if found.rim_misfit > LOST_RIM_DOTS:
        # Its back may be lost, in a glint or against a ground as dark: then its two ends tell the ring alone.
        ends = fit.rim.r > LOST_RIM * float(fit.rim.r.max())
        again = _weighed(replace(fit, rim=Arc(fit.rim.r[ends], fit.rim.v[ends])), focals, common)
        if again.rim_misfit < LOST_RIM_BETTER * found.rim_misfit and _reaches_the_sides(again.rim_line, r, v):
            return again
    return replace(found, rim_line=None)


def _reaches_the_sides(rim: tuple[Floats, Floats] | None, r: Floats, v: Floats) -> bool:
    """Whether a rim's back, drawn by its ends, is as wide as the outline where it ends: else it is no rim of this piece."""
    if rim is None:
        return False
    wide, low = float(rim[0][-1]), float(rim[1][-1])
    return wide > RIM_AS_WIDE * float(r[np.argmax(v > low)])


def _weighed(fit: _Fit, focals: Floats, common: Floats) -> Judged:
    """The view under each lens in turn, and the one where their weighed nearness lies midmost."""
    middle = len(focals) // 2
    sides = [each.first(focals[middle]) for each in (fit, replace(fit, low=True))]
    if sides[1].cost + LOW_CAMERA**2 / 2 < sides[0].cost:
        fit = replace(fit, low=True)
    first = sides[int(fit.low)]
    tried: dict[int, Any] = {middle: first}
    for way, end in ((1, len(focals)), (-1, -1)):
        for at in range(middle + way, end, way):
            before = tried[at - way].x.copy()
            before[1] += focals[at] - focals[at - way]
            tried[at] = fit.best(before, focals[at])
    costs = np.array([float(tried[at].cost) for at in range(len(focals))])
    weights = common * np.exp(-(costs - costs.min()))
    weights /= weights.sum()
    views = [fit.view(tried[at].x, focals[at]) for at in range(len(focals))]
    nearness = np.array([1.0 / view.distance for view in views])
    best = int(np.argmin(np.abs(nearness - weights @ nearness)))
    rim, foot = fit.arc_misses(tried[best].x, focals[best])
    about = [fit.view(each, focals[best]) for each in _about(tried[best])]
    others = [(float(weight), view) for weight, view in zip(weights, views, strict=True) if weight > LEAST_WEIGHT]
    return Judged(
        views[best],
        (*others, *((0.5, view) for view in about)),
        _size(rim),
        _size(foot),
        UNSURENESS * max(1.0, max(_size(rim), _size(foot)) / USUAL_MISFIT),
        rim_line=fit.rim_line(tried[best].x, focals[best]),
    )


def _lenses(lens_35mm: float | None, tried: int, spread_of_known: float) -> tuple[Floats, Floats]:
    """Lenses to try, in long sides of the picture, and how common each is."""
    if lens_35mm is not None:
        off = np.linspace(-2.0, 2.0, 5)
        return lens_35mm / FILM_MM * np.exp(off * spread_of_known), np.exp(-(off**2) / 2)
    lenses = np.geomspace(*TRIED_LENSES, tried)
    common = sum(
        share / spread * np.exp(-((np.log(lenses / lens) / spread) ** 2) / 2) for share, lens, spread in USUAL_LENSES
    )
    return lenses, np.asarray(common)


def _size(misses: Floats) -> float:
    return float(np.sqrt(np.mean(misses**2)))


def _about(best: Any) -> list[Floats]:
    """Places about one standard deviation from the best along each of the main ways in which the fit may be off."""
    values, ways = np.linalg.eigh(best.jac.T @ best.jac)
    found = []
    for value, way in zip(values, ways.T, strict=True):
        step = way / math.sqrt(max(value, 1e-9))
        size = np.abs(step[:2]) / np.array([0.06, 0.5])
        step = step / max(1.0, float(size.max()))  # no further than the formula is nearly straight
        found += [best.x + step, best.x - step]
    return found


def flat_ends(r: Floats, v: Floats) -> bool:
    """Whether a half outline ends as a piece does that is seen level from far off: with a foot that shows no ellipse.

    A camera above the rim sees the foot from higher still, so a foot that is flat under a curved top is a domed top seen
    level, as a lid has.
    """
    least = MOST_FLAT + DOT_SPREAD / max(1.0, float(r.max()))
    rim, foot = (_bend(arc_of(*line)) for line in ((r, v), (r[::-1], v[::-1])))
    return foot < least and (rim < least or foot < DOME * rim)


def level_view(tall: float) -> Judged:
    """The view of a piece ``tall`` dots high seen level and from so far off that its rings show as lines."""
    return Judged(View(FAR_OFF, 0.5, 0.0, tall * FAR_OFF), (), 0.0, 0.0, level=True)


def _bend(arc: Arc) -> float:
    """Half height over half width of the ellipse of which an arc's middle part would be a half."""
    wide = RING_OUT * float(arc.r.max())
    inner = arc.r < INNER * wide
    bend = 1.0 - np.sqrt(1.0 - (arc.r[inner] / wide) ** 2)
    away = np.abs(arc.v[inner] - arc.v[0])
    return float(bend @ away / max(1e-9, float(bend @ bend))) / wide


def _flatness(arc: Arc, half_width: float) -> float:
    """Half height over half width of the half ellipse nearest to an arc, its half width given."""
    bend = 1.0 - np.sqrt(1.0 - np.minimum(0.95, arc.r / half_width) ** 2)
    slope = float(np.polyfit(bend, np.abs(arc.v - arc.v[0]), 1)[0])
    return min(0.7, max(0.01, slope / half_width))


@dataclass(frozen=True, slots=True, eq=False)
class _Fit:
    """What is fitted under one lens: angle of the rim, log distance, aim, radii of rim and foot, roundness of both edges."""

    rim: Arc
    foot: Arc
    top: float
    bottom: float
    lip: float
    looks_down: tuple[float, float] | None = None  # pitch and its spread, where it is known
    low: bool = False  # the camera stood under the rim

    def best(self, start: Floats, focal: float, loss: str = "soft_l1") -> Any:
        """The best fit near a start under the lens of this log focal length, dots."""
        from scipy.optimize import least_squares

        return least_squares(
            self.misses,
            start,
            args=(focal,),
            x_scale=self.scales(),
            loss=loss,
            max_nfev=MOST_STEPS,
            ftol=1e-5,
            xtol=1e-6,
        )

    def first(self, focal: float) -> Any:
        """The best fit under the lens of this log focal length, begun from the rim as plain half an ellipse."""
        size = self.bottom - self.top
        half_widths = [RING_OUT * float(arc.r.max()) for arc in (self.rim, self.foot)]
        flat = _flatness(self.rim, half_widths[0])
        radii = [each / size for each in half_widths]
        rest = [focal - math.log(size) + START_FARTHER, 0.0, *radii, self.lip, FOOT_EDGE]
        angles = [part * math.asin(flat) for part in START_FLATNESS]
        if self.looks_down is not None:  # the rim is seen a little less from above than the middle
            angles.append(max(0.01, self.looks_down[0] - 0.5 * math.exp(-rest[0])))
        near = [self.best(np.array([angle, *rest]), focal, "linear") for angle in angles]
        return self.best(min(near, key=lambda found: float(found.cost)).x, focal)

    def scales(self) -> Floats:
        return np.array([0.05, 0.3, 0.05, 0.05, 0.05, 0.01, 0.005])

    def view(self, x: Floats, focal: float) -> View:
        distance = math.exp(float(np.clip(x[1], 0.2, 6.0)))
        angle = min(1.0, abs(float(x[0]))) * (-1.0 if self.low else 1.0)
        height = 1.0 + distance * math.tan(angle)
        pitch = math.atan2(height - 0.5, distance) + float(x[2])
        return View(distance, height, pitch, math.exp(focal))

    def arc_misses(self, x: Floats, focal: float) -> tuple[Floats, Floats]:
        """How far each point of either arc lies off its ring, dots."""
        view = self.view(x, focal)
        edge = abs(float(x[6]))
        upper = self.rim_line(x, focal)
        lower = _ring_line(view, abs(float(x[4])), edge, edge, view.height < edge, 1.0)
        return _off(self.rim, upper, -1.0), _off(self.foot, lower, 1.0)

    def rim_line(self, x: Floats, focal: float) -> tuple[Floats, Floats]:
        """(r, v) of the rim as it would show, from the axis outward."""
        lip = abs(float(x[5]))
        return _ring_line(self.view(x, focal), abs(float(x[3])), 1.0 - lip, lip, not self.low, -1.0)

    def misses(self, x: Floats, focal: float) -> Floats:
        rim, foot = self.arc_misses(x, focal)
        size = math.exp(focal - float(x[1]))  # dots to a height of the piece
        likely = [
            math.log(max(1e-4, abs(float(x[5]))) / self.lip) / LIP_SPREAD,
            (float(x[6]) - FOOT_EDGE) / FOOT_EDGE_SPREAD,
            float(x[2]) / 0.1,
            math.log(max(1e-3, abs(float(x[3]))) * size / (RING_OUT * float(self.rim.r.max()))) / RING_SPREAD,
            math.log(max(1e-3, abs(float(x[4]))) * size / (RING_OUT * float(self.foot.r.max()))) / RING_SPREAD,
        ]
        if self.looks_down is not None:
            pitch, spread = self.looks_down
            likely.append((self.view(x, focal).pitch - pitch) / spread)
        return np.concatenate([rim / DOT_SPREAD, foot / DOT_SPREAD, likely])


def _ring_line(view: View, radius: float, height: float, edge: float, far: bool, way: float) -> tuple[Floats, Floats]:
    """(r, v) of the far or near half of a ring from the axis outward, let out by its edge's radius upward or downward."""
    turn = np.linspace(math.pi / 2, 0.0, 41) * (-1.0 if far else 1.0)
    r, v = view.seen(radius, height, turn)
    along_r, along_v = np.gradient(r), np.gradient(v)
    size = np.hypot(along_r, along_v) + 1e-12
    dots = edge * view.focal / view.distance * math.cos(view.rim_seen)
    # The normal that points up (or down) the picture.
    flip = way * np.sign(along_r + 1e-12)
    return r - flip * along_v / size * dots, v + flip * along_r / size * dots


def _off(arc: Arc, line: tuple[Floats, Floats], way: float) -> Floats:
    """Signed distance of each point of an arc from a ring's line, which is carried on straight past its widest, dots."""
    r, v = np.append(line[0], line[0][-1]), np.append(line[1], line[1][-1] - way * 0.2 * line[0][-1])
    step_r, step_v = np.diff(r), np.diff(v)
    to_r, to_v = arc.r[:, None] - r[:-1], arc.v[:, None] - v[:-1]
    part = np.clip((to_r * step_r + to_v * step_v) / (step_r**2 + step_v**2 + 1e-12), 0.0, 1.0)
    away = (to_r - part * step_r) ** 2 + (to_v - part * step_v) ** 2
    near = (np.arange(len(arc.r)), np.argmin(away, axis=1))
    side = np.sign((step_r * to_v - step_v * to_r)[near])
    found: Floats = side * np.sqrt(away[near])
    return found
