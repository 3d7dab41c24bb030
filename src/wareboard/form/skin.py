"""A picture laid round the outside or the inside of a body, as texture co-ordinates for its faces."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats
from wareboard.form.lip import PulledLip, with_more_points
from wareboard.form.profile import Profile
from wareboard.form.solid import Part, loop_of
from wareboard.given import positive


@dataclass(frozen=True, slots=True, eq=False)
class Skin:
    """A picture that goes once round the body, from its rim down to its foot (or the middle of its floor).

    ``rgb`` (h, w, 3) is 8-bit sRGB; its left edge lies where the handle's middle is, and it is the right way round for
    whoever looks at that side. ``profile`` is the body's as it was turned into a solid. Rows are spread evenly along the
    wall of the stage at which the picture was laid, ``taller`` and ``wider`` than the profile.
    ``ground`` is the sRGB colour, 0 to 1, of what the picture does not cover; the clay's where left out. ``lip`` is the
    body's pulled lip, with which the picture goes.
    """

    rgb: NDArray[np.uint8]
    profile: Profile
    inside: bool = False
    taller: float = 1.0
    wider: float = 1.0
    name: str = "painting"
    ground: tuple[float, float, float] | None = None
    lip: PulledLip | None = None

    def __post_init__(self) -> None:
        if self.rgb.ndim != 3 or self.rgb.shape[2] != 3 or self.rgb.dtype != np.uint8 or not self.rgb.size:
            raise OutOfRange(
                f"picture of shape {self.rgb.shape}", why="it is no (h, w, 3) of 8 bits", mend="Give sRGB from 0 to 255"
            )
        positive(self.taller, "height factor")
        positive(self.wider, "width factor")

    def co_ordinates(self, body: Part, fine: bool = True) -> tuple[Floats, NDArray[np.bool_]]:
        """(faces, 3, 2) of u to the right and v down the picture, 0 to 1, at faces' corners; (faces,) which it covers.

        Args:
            body: the solid's body, whose rings are those of the profile, however they were moved.
            fine: as the solid was made.
        """
        sides = int((body.faces == 0).any(axis=1).sum())
        full, loop = loop_of(self.profile, True), loop_of(self.profile, fine)
        down, (first, last) = self._along(full)
        at = {tuple(point): place for place, point in enumerate(full.tolist())}
        along = self._at_rings(loop, down[[at[tuple(point)] for point in loop.tolist()]])
        if len(body.points_mm) != (len(along) - 2) * sides + 2:
            raise OutOfRange("the body", why="it was not turned from this profile", mend="Make both from one form")
        position = (body.faces - 1) // sides + 1
        position[body.faces == len(body.points_mm) - 1] = len(along) - 1
        reached = along[position]
        middle = (reached.min(axis=1) + reached.max(axis=1)) / 2
        share = np.clip((reached - first) / (last - first), 0.0, 1.0)
        pole = (position == 0) | (position == len(along) - 1)
        u = ((body.faces - 1) % sides) / sides
        u = np.where(pole, np.roll(u, 1, axis=1), u)
        u[(np.ptp(u, axis=1) > 0.5)[:, None] & (u < 0.5)] += 1.0
        # In the middle of the floor every angle meets: the corner there takes that of the edge across from it.
        u = np.where(pole, (u.sum(axis=1) - (u * pole).sum(axis=1))[:, None] / 2, u)
        found = np.stack([1.0 - u if self.inside else u, share if self.inside else 1.0 - share], axis=-1)
        return found, np.asarray((middle > first) & (middle < last))

    def _at_rings(self, loop: Floats, along: Floats) -> Floats:
        """Distance along the section to each ring and both middles, with the rings that were put in for a pulled lip."""
        if self.lip is None:
            return along
        rings = with_more_points(self.profile, self.lip, np.column_stack([loop, along])[1:-1])
        return np.concatenate([along[:1], rings[:, 2], along[-1:]])

    def _along(self, full: Floats) -> tuple[Floats, tuple[float, float]]:
        """Distance along the whole section to each of its points, and where the covered part of it begins and ends."""
        steps = np.diff(full * np.array([self.taller, self.wider]), axis=0)
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*steps.T))])
        outer, inner = self.profile.outer_mm, self.profile.inner_mm

        def at(point: Floats) -> float:
            return float(along[int(np.abs(full - point).sum(axis=1).argmin())])

        ends = (at(inner[-1]), float(along[-1])) if self.inside else (at(outer[self.profile.standing]), at(outer[-1]))
        return along, ends
