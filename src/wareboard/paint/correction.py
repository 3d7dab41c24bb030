"""Correcting a photograph: white balance, exposure and colour, from the 24-patch card or from one grey patch.

The camera is taken to turn light into numbers by a gain and, where the greys show it, a power for each channel, followed by
a mixing of the channels. Which of four such fits is used is decided by patches left out of it, and what is left over on
those patches is said.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.errors import OutOfRange
from wareboard.paint.card import COLUMNS, Card, Readings, other_ways_round
from wareboard.paint.colour import (
    Floats,
    ciede2000,
    colours,
    lab_from_linear,
    linear_from_lab,
    linear_from_srgb,
    srgb_from_linear,
)
from wareboard.working import Step

GREYS = slice(18, 24)
PARTS = 6
FEWEST_PATCHES = 16
# Common practice in imaging for a corrected picture.
GOOD_MEAN, GOOD_WORST = 2.0, 5.0
NOT_THE_CARD = 12.0
UNEVEN = 0.10
MODELS = {
    "3x3": "a 3 by 3 matrix",
    "3x3 toned": "a power for each channel, then a 3 by 3 matrix",
    "root": "a root-polynomial of the second degree",
    "root toned": "a power for each channel, then a root-polynomial of the second degree",
}


@dataclass(frozen=True, slots=True, eq=False)
class Correction:
    """How to get from the numbers of one photograph to colours, and how far out that still is.

    ``mean_left`` and ``worst_left`` are CIEDE2000 on patches that were left out of the fit in turn; None where one grey
    patch is all there was. ``left`` (24,) is the same patch by patch, not a number for patches that could not be read.
    """

    model: str
    matrix: Floats
    powers: Floats
    mean_left: float | None
    worst_left: float | None
    worst_patch: str
    left: Floats
    notes: tuple[str, ...]
    steps: tuple[Step, ...] = field(default=())

    def linear(self, linear: ArrayLike) -> Floats:
        """Corrected linear sRGB light of linear light as photographed."""
        toned = np.maximum(colours(linear), 0.0) ** self.powers
        found: Floats = _terms(toned, self.model) @ self.matrix
        return found

    def lab(self, linear: ArrayLike) -> Floats:
        """Lab under D50 of linear light as photographed."""
        return lab_from_linear(self.linear(linear))

    def picture(self, srgb: ArrayLike) -> Floats:
        """The whole picture corrected: sRGB 0 to 1 in and out, clipped to what a screen shows."""
        return np.clip(srgb_from_linear(self.linear(linear_from_srgb(srgb))), 0.0, 1.0)


def by_card(readings: Readings, truth: Card) -> Correction:
    """The correction that a 24-patch card in the same light gives.

    Each of `MODELS` is fitted six times, each time without another sixth of the patches, and judged by CIEDE2000 on those;
    the best is then fitted to all. As the best of four is reported, the figure is a little kind.

    Args:
        readings: from `card.read_patches`; patches that are blown out are not used.
        truth: the card's published colours.
    Raises:
        OutOfRange: if too few patches can be read, or what was read cannot be the card.
    Source: root-polynomial: Finlayson, Mackiewicz and Hurlbert 2015, table 1 (finlayson-2015); least squares in linear
        light, weighted as the slope of L* so that dark patches count as they look.
    """
    usable = ~readings.blown & (readings.linear.min(axis=1) > 0.0)
    if int(usable.sum()) < FEWEST_PATCHES:
        raise OutOfRange(
            f"{int(usable.sum())} of 24 patches can be read",
            f"at least {FEWEST_PATCHES} are needed; the others are too bright or black",
            "Photograph it again with less light, without glare on the card",
        )
    way, linear, kept = _way_round(readings, usable, truth)
    judged = {model: _left_out(linear, truth.lab, kept, model) for model in MODELS}
    model = min(judged, key=lambda each: float(np.nanmean(judged[each])))
    left = judged[model]
    mean, worst = float(np.nanmean(left)), float(np.nanmax(left))
    if mean > NOT_THE_CARD:
        raise OutOfRange(
            f"the patches miss their colours by {mean:.0f} CIEDE2000 on the average",
            "that is no 24-patch card, or the corners are not its own",
            "Click the outer corners of the patches again, first the one at the brown patch",
        )
    powers, matrix = _fitted(linear[kept], truth.lab[kept], _greys_of(kept), model)
    worst_patch = truth.names[int(np.nanargmax(left))]
    notes = _notes(readings, way, mean, worst, worst_patch, ~kept, truth)
    return Correction(
        model, matrix, powers, mean, worst, worst_patch, left, notes, _steps(model, mean, worst, truth, kept)
    )


def by_grey(linear: ArrayLike, grey_lab: ArrayLike = (50.0, 0.0, 0.0)) -> Correction:
    """White balance and exposure from one grey patch, whose Lab under D50 is known; other hues stay as the camera has them.

    Args:
        linear: (3,) mean linear light of the patch as photographed, from `card.patch_light`.
        grey_lab: what the patch is in truth.
    Raises:
        OutOfRange: if the patch is black or blown out in the picture.
    """
    seen = colours(linear, "grey patch")
    if seen.shape != (3,) or (seen <= 1e-4).any() or (seen >= linear_from_srgb([0.985] * 3)).any():
        raise OutOfRange(
            "the grey patch", "it is black or blown out in the picture", "Photograph it again, neither bright nor dark"
        )
    matrix = np.diag(linear_from_lab(grey_lab) / seen)
    note = (
        "one grey patch: white balance and exposure only. How far other colours are out is not known; a card would say"
    )
    return Correction("3x3", matrix, np.ones(3), None, None, "", np.full(24, np.nan), (note,))


def _terms(linear: Floats, model: str) -> Floats:
    """What the matrix is applied to: the channels, or with the roots of their products."""
    if model.startswith("3x3"):
        return linear
    red, green, blue = linear[..., 0], linear[..., 1], linear[..., 2]
    roots = np.sqrt(np.stack([red * green, green * blue, blue * red], axis=-1))
    return np.concatenate([linear, roots], axis=-1)


def _fitted(linear: Floats, lab: Floats, greys: NDArray[np.bool_], model: str) -> tuple[Floats, Floats]:
    """Powers (3,) and matrix (terms, 3)."""
    wanted = linear_from_lab(lab)
    powers = np.ones(3)
    if "toned" in model and int(greys.sum()) >= 4:
        logs = np.log(linear[greys])
        for channel in range(3):
            powers[channel] = np.polyfit(logs[:, channel], np.log(np.maximum(wanted[greys, channel], 1e-4)), 1)[0]
    weight = 1.0 / (wanted.mean(axis=1) + 0.02) ** (2.0 / 3.0)
    terms = _terms(linear**powers, model)
    matrix = np.linalg.lstsq(terms * weight[:, None], wanted * weight[:, None], rcond=None)[0]
    return powers, matrix


def _greys_of(kept: NDArray[np.bool_]) -> NDArray[np.bool_]:
    grey = np.zeros(24, dtype=bool)
    grey[GREYS] = True
    return grey[kept]


def _left_out(linear: Floats, lab: Floats, kept: NDArray[np.bool_], model: str) -> Floats:
    """CIEDE2000 of each patch under a fit that did not see it; not a number where it was not read."""
    # One more along in each row, so that no part takes a whole column of the card.
    place = np.arange(24)
    part = (place % COLUMNS + place // COLUMNS) % PARTS
    left = np.full(24, np.nan)
    for each in range(PARTS):
        learn, judge = kept & (part != each), kept & (part == each)
        if not judge.any():
            continue
        powers, matrix = _fitted(linear[learn], lab[learn], _greys_of(learn), model)
        shown = lab_from_linear(_terms(linear[judge] ** powers, model) @ matrix)
        left[judge] = ciede2000(shown, lab[judge])
    return left


def _way_round(readings: Readings, usable: NDArray[np.bool_], truth: Card) -> tuple[str, Floats, NDArray[np.bool_]]:
    ways = other_ways_round()
    found = {
        way: float(np.nanmean(_left_out(readings.linear[order], truth.lab, usable[order], "3x3")))
        for way, order in ways.items()
    }
    # As given, unless another way round is better beyond doubt.
    best = min(found, key=lambda way: found[way])
    if found[best] > 0.7 * found["as given"]:
        best = "as given"
    return best, readings.linear[ways[best]], usable[ways[best]]


def _notes(
    readings: Readings, way: str, mean: float, worst: float, worst_patch: str, lost: NDArray[np.bool_], truth: Card
) -> tuple[str, ...]:
    notes = []
    if way != "as given":
        notes.append(f"the card's corners were given {way}; it was read the right way round")
    if lost.any():
        notes.append("not read, too bright or black: " + ", ".join(np.array(truth.names)[lost]))
    if float(np.median(readings.uneven)) > UNEVEN:
        notes.append("the patches are uneven in themselves: glare, blur or a shadow lies on the card")
    if mean > GOOD_MEAN or worst > GOOD_WORST:
        notes.append(
            f"poor: mean {mean:.1f} and worst {worst:.1f} ({worst_patch}) where {GOOD_MEAN:g} and {GOOD_WORST:g} are usual"
            f"; use daylight shade, no second lamp, and the card of the edition {truth.edition}"
        )
    return tuple(notes)


def _steps(model: str, mean: float, worst: float, truth: Card, kept: NDArray[np.bool_]) -> tuple[Step, ...]:
    how = f"{MODELS[model]}; each sixth of the patches left out of the fit in turn"
    given = {"patches": float(kept.sum())}
    source = f"{truth.source}+finlayson-2015" if model.startswith("root") else truth.source
    return (
        Step("colour left over, mean", "", given, mean, source, "CIEDE2000", how=how),
        Step("colour left over, worst patch", "", given, worst, source, "CIEDE2000", how=how),
    )
