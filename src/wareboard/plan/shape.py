"""What kind of form a brief's form is, and its profile, with the sizes that the brief leaves out filled in."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from wareboard.errors import OutOfRange, placed
from wareboard.plan.assume import Assumer
from wareboard.plan.brief import Form, Shape
from wareboard.plan.result import KindOfForm

if TYPE_CHECKING:
    from wareboard.form.gallery import Gallery
    from wareboard.form.profile import Profile

NAMED_SHAPES: tuple[tuple[Shape, tuple[str, ...]], ...] = (
    ("plate", ("plate", "saucer", "platter", "dish")),
    ("bowl", ("bowl", "basin")),
    ("jug", ("jug", "pitcher", "creamer", "ewer")),
    ("jar", ("jar", "caddy", "teapot", "pot")),
    ("belly", ("cup", "mug")),
    ("taper", ("beaker", "tumbler", "goblet")),
)
KINDS: dict[str, KindOfForm] = {
    "cylinder": "cup",
    "taper": "cup",
    "belly": "cup",
    "bowl": "bowl",
    "plate": "plate",
    "jug": "jug",
    "jar": "jug",
    "teapot": "jug",
}
PROFILE_NAMES = {"jar": "lidded jar"}
USUAL_LEDGE_MM = 6.0  # width of a gallery, from memory; it lies a wall and 2 mm under the rim where nothing is said
WALL_OFF_MM = 0.5  # a wall thrown to a stated thickness, nine times in ten; common practice (a needle tells 1 mm)
FLAT_FROM, OPEN_FROM = (
    4.0,
    1.5,
)  # rim over height, from which a form without a telling name is taken for a plate, a bowl


@dataclass(frozen=True, slots=True)
class FiredSizes:
    """The fired sizes of a form with no blanks, mm."""

    height: float
    rim: float
    foot: float
    belly: float | None
    wall: float
    floor: float
    wall_off: float  # how far wall and floor may be from what is drawn


def shape_of(form: Form, assume: Assumer) -> Shape:
    """The shape stated, else the one that the form's name or its proportions tell."""
    if form.shape is not None:
        return form.shape
    words = form.name.lower()
    guess: Shape | None = next((shape for shape, names in NAMED_SHAPES if any(name in words for name in names)), None)
    if guess is None and form.height and form.rim:
        across = form.rim / form.height
        guess = "plate" if across >= FLAT_FROM else "bowl" if across >= OPEN_FROM else "taper"
    guess = guess or "taper"
    assume.note(f"forms.{form.name}.shape", f"{form.name}: drawn as a {guess}", 1, "", "common-practice")
    return guess


def sizes_of(form: Form, kind: KindOfForm, assume: Assumer) -> FiredSizes:
    """Height, rim, foot, wall and floor, from the profile or what is given, and the usual proportions of the kind."""
    if form.profile:
        height, rim, foot = form.profile[-1][0] - form.profile[0][0], form.profile[-1][1], form.profile[0][1]
    else:
        across = assume.figure(f"rim_to_height.{kind}").value if form.rim is None or form.height is None else 1.0
        height = form.height if form.height is not None else (form.rim or 0.0) / across
        rim = form.rim if form.rim is not None else height * across
        foot = form.foot if form.foot is not None else rim * _foot_to_rim(form, kind, assume)
    wall = assume.figure(f"wall.{kind}", form.wall)
    floor = assume.figure(f"floor.{kind}", form.floor)
    off = WALL_OFF_MM if form.wall is not None else (wall.high - wall.low) / 2
    return FiredSizes(height, rim, foot, form.belly, wall.value, floor.value, off)


def _foot_to_rim(form: Form, kind: KindOfForm, assume: Assumer) -> float:
    """The usual foot as a share of the mouth; a form that is said to be a cylinder stands upright."""
    return 1.0 if form.shape == "cylinder" else assume.figure(f"foot_to_rim.{kind}").value


def volume_range_mm3(form: Form, shape: Shape, sizes: FiredSizes, drawn_mm3: float) -> tuple[float, float]:
    """Clay of the fired wall as thin and as thick as it may come, mm3; a tenth either way where that cannot be drawn."""
    from wareboard.form.vessel import clay_volume_mm3

    ends: list[float] = []
    for sign, share in ((-1, 0.9), (1, 1.1)):
        by = sign * min(sizes.wall_off, sizes.wall / 2)
        try:
            other = replace(sizes, wall=sizes.wall + by, floor=max(1.0, sizes.floor + by))
            ends.append(clay_volume_mm3(profile_of(form, shape, other)))
        except OutOfRange:
            ends.append(drawn_mm3 * share)
    return min(ends[0], drawn_mm3), max(ends[1], drawn_mm3)


def profile_of(form: Form, shape: Shape, sizes: FiredSizes) -> Profile:
    """The fired profile: through the points given, else the usual curve of the shape through its sizes.

    Raises:
        OutOfRange: naming the form, where sizes do not go together.
    """
    from wareboard.form.profile import from_points, standard

    with placed(form.name):
        if form.profile:
            line = from_points([(height, across / 2) for height, across in form.profile], sizes.wall, sizes.floor)
            return _with_gallery(form, sizes, line)
        belly = sizes.belly if shape in ("belly", "jug", "jar", "teapot") else None
        name = PROFILE_NAMES.get(shape, shape)
        line = standard(name, sizes.height, sizes.rim, sizes.foot, belly, sizes.wall, sizes.floor)
        return _with_gallery(form, sizes, line)


def gallery_of(form: Form, sizes: FiredSizes) -> Gallery | None:
    """The gallery that a form's lid sits on; None where the lid sits on the rim."""
    from wareboard.form.gallery import Gallery

    if form.lid is None or (form.lid.gallery is None and form.lid.gallery_depth is None):
        return None
    wide = form.lid.gallery or USUAL_LEDGE_MM
    return Gallery(wide, form.lid.gallery_depth or sizes.wall + 2.0)


def _with_gallery(form: Form, sizes: FiredSizes, profile: Profile) -> Profile:
    from wareboard.form.gallery import with_gallery

    gallery = gallery_of(form, sizes)
    return profile if gallery is None else with_gallery(profile, gallery)
