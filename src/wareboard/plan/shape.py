"""What kind of form a brief's form is, and its profile, with the sizes that the brief leaves out filled in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from wareboard.errors import OutOfRange
from wareboard.plan.assume import Assumer
from wareboard.plan.brief import Form, Shape
from wareboard.plan.result import KindOfForm

if TYPE_CHECKING:
    from wareboard.form.profile import Profile

NAMED_SHAPES: tuple[tuple[Shape, tuple[str, ...]], ...] = (
    ("plate", ("plate", "saucer", "platter", "dish")),
    ("bowl", ("bowl", "basin")),
    ("jug", ("jug", "pitcher", "creamer", "ewer")),
    ("jar", ("jar", "caddy", "teapot", "pot")),
    ("belly", ("cup", "mug")),
    ("cylinder", ("beaker", "tumbler", "goblet")),
)
KINDS: dict[str, KindOfForm] = {
    "cylinder": "cup",
    "taper": "cup",
    "belly": "cup",
    "bowl": "bowl",
    "plate": "plate",
    "jug": "jug",
    "jar": "jug",
}
PROFILE_NAMES = {"jar": "lidded jar"}
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


def shape_of(form: Form, assume: Assumer) -> Shape:
    """The shape stated, else the one that the form's name or its proportions tell."""
    if form.shape is not None:
        return form.shape
    words = form.name.lower()
    guess: Shape | None = next((shape for shape, names in NAMED_SHAPES if any(name in words for name in names)), None)
    if guess is None and form.height and form.rim:
        across = form.rim / form.height
        guess = "plate" if across >= FLAT_FROM else "bowl" if across >= OPEN_FROM else "cylinder"
    guess = guess or "cylinder"
    assume.note(f"forms.{form.name}.shape", f"{form.name}: drawn as a {guess}", 1, "", "common-practice")
    return guess


def sizes_of(form: Form, kind: KindOfForm, assume: Assumer) -> FiredSizes:
    """Height, rim, foot, wall and floor, from what is given and the usual proportions of the kind."""
    across = assume.figure(f"rim_to_height.{kind}").value if form.rim is None or form.height is None else 1.0
    height = form.height if form.height is not None else (form.rim or 0.0) / across
    rim = form.rim if form.rim is not None else height * across
    foot = form.foot if form.foot is not None else rim * assume.figure(f"foot_to_rim.{kind}").value
    return FiredSizes(
        height,
        rim,
        foot,
        form.belly,
        assume.figure(f"wall.{kind}", form.wall).value,
        assume.figure(f"floor.{kind}", form.floor).value,
    )


def profile_of(form: Form, shape: Shape, sizes: FiredSizes) -> Profile:
    """The fired profile: through the points given, else the usual curve of the shape through its sizes.

    Raises:
        OutOfRange: naming the form, where sizes do not go together.
    """
    from wareboard.form.profile import from_points, standard

    try:
        if form.profile:
            return from_points([(height, across / 2) for height, across in form.profile], sizes.wall, sizes.floor)
        belly = sizes.belly if shape in ("belly", "jug", "jar") else None
        name = PROFILE_NAMES.get(shape, shape)
        return standard(name, sizes.height, sizes.rim, sizes.foot, belly, sizes.wall, sizes.floor)
    except OutOfRange as problem:
        problem.where = problem.where or form.name
        raise
