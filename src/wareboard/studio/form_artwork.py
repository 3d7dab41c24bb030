"""The client's mark and painting shown on a form in the round: what there is to show, its drawings, its words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from wareboard.book.models import Commission
from wareboard.book.prototypes import pictures
from wareboard.book.prototypes.models import MARK, PAINTING
from wareboard.errors import WareboardError
from wareboard.plan.in_round import view_with_mark, view_with_painting
from wareboard.plan.result import FormPlan, Plan, slug
from wareboard.plan.solids import solid_at
from wareboard.studio.prototypes import worked
from wareboard.studio.prototypes.art_pages import found_of

if TYPE_CHECKING:
    from wareboard.form.skin import Skin
    from wareboard.plan.mark_in_round import MarkOnSolid
    from wareboard.plan.marked import Marked
    from wareboard.plan.painted import Painted
    from wareboard.plan.painting_in_round import Spot

# What may be shown on a form, and the client's pictures that it needs.
SHOWN = {"mark": (MARK,), "raw": (PAINTING,), "fired": (PAINTING,), "both": (MARK, PAINTING)}
WORDS = {
    "": "Clay alone", "mark": "With its mark", "raw": "Painted, raw", "fired": "Painted, fired",
    "both": "Mark and painting",
}  # fmt: skip
# How a painting looks that is shown, and at which stage it is.
LOOK_OF = {"raw": "raw", "fired": "fired", "both": "fired"}
STAGE_OF = {"raw": "bisque", "fired": "fired", "both": "fired"}
# Degrees that the piece is turned so that this side faces the eye, and what is seen of a handle there.
FOUR_SIDES = (
    ("Front", 0, "handle on the right"),
    ("Right", 270, "handle towards you"),
    ("Back", 180, "handle on the left"),
    ("Left", 90, "handle away from you"),
)


@dataclass(frozen=True, slots=True)
class OnForm:
    """What is shown on a form: nothing, its mark, its painting, or both; or why it cannot be shown."""

    shown: str
    stage: str
    marked: Marked | None = None
    painted: Painted | None = None
    mark: MarkOnSolid | None = None
    skin: Skin | None = None
    spots: tuple[Spot, ...] = ()
    coats: int | None = None
    trouble: str = ""

    @property
    def made_from(self) -> tuple[Any, ...]:
        """By what a drawing of it may be found again; this is kept with the drawing, so that no id is used twice."""
        return self.shown, self.stage, self.coats, id(self.marked), id(self.painted)


def kinds_on(commission: Commission, form: FormPlan) -> dict[str, bool]:
    """For the mark and the painting, whether one is kept for this form."""
    return {kind: slug(form.name) in codes for kind, codes in codes_on(commission).items()}


def codes_on(commission: Commission) -> dict[str, set[str]]:
    """The short keys of the forms that have a mark, and of those that have a painting."""
    return {kind: {slug(each.form) for each in pictures.all_of(commission, kind)} for kind in (MARK, PAINTING)}


def on_form(
    commission: Commission, plan: Plan, form: FormPlan, shown: str, stage: str, coats: int | None = None
) -> OnForm:
    """What is asked for, worked out; a painting is shown at its own stage."""
    if shown not in SHOWN:
        return OnForm("", stage)
    stage = STAGE_OF.get(shown, stage)
    made: dict[str, Any] = {}
    for kind in SHOWN[shown]:
        held = pictures.standing(commission, kind, form.name)
        if held is None:
            return OnForm(shown, stage, trouble=f"No {kind} is kept for {form.name}.")
        found = found_of(plan, held)
        if found.made is None:
            return OnForm(shown, stage, trouble=found.trouble)
        made[kind] = found.made
    return _on_solid(form, shown, stage, made.get(MARK), made.get(PAINTING), coats)


def _on_solid(
    form: FormPlan, shown: str, stage: str, marked: Marked | None, painted: Painted | None, coats: int | None
) -> OnForm:
    from wareboard.plan.mark_in_round import MARKED_STAGES, mark_on_solid
    from wareboard.plan.painting_in_round import painting_skin, spots

    if marked is not None and stage not in MARKED_STAGES:
        return OnForm(shown, stage, marked, trouble="The mark is carved at leather-hard: choose a later stage.")
    few = painted is not None and shown == "raw" and coats is not None and coats < len(painted.order.coats)
    laid = coats if few else None

    def work() -> OnForm:
        mark = mark_on_solid(marked, form, stage) if marked is not None else None
        if painted is None:
            return OnForm(shown, stage, marked, mark=mark)
        look = LOOK_OF[shown]
        skin = painting_skin(painted, form, look, laid)
        return OnForm(shown, stage, marked, painted, mark, skin, spots(painted, form, look), laid)

    try:
        made_from = _print_of(form), shown, stage, laid, id(marked), id(painted)
        return worked.on_solids.once(made_from, work)
    except WareboardError as problem:
        return OnForm(shown, stage, marked, painted, trouble=str(problem))


def _print_of(form: FormPlan) -> tuple[Any, ...]:
    """What a form's solid is made from, so that what is kept of it is made anew when it changes."""
    outline = form.profile.outer_mm.tobytes(), form.profile.inner_mm.tobytes()
    return outline, form.strap, form.poured, form.lidded, form.loss_width, form.loss_height


def model_glb(form: FormPlan, what: OnForm) -> bytes:
    """The form's binary glTF with what is on it; the latest are kept."""
    from wareboard.form.solid_files import glb

    def work() -> tuple[bytes, Any]:
        mark = what.mark.ribbon() if what.mark else None
        return glb(solid_at(form, what.stage), form.name, what.stage, mark, what.skin), what

    made_from = ("glb", _print_of(form), form.name, what.made_from)
    return worked.on_solids.once(made_from, work)[0]


def picture_svg(form: FormPlan, what: OnForm, turn: int, tip: int, title: str, wide_mm: float | None) -> str:
    """The piece with what is on it, seen from one side, as SVG; the latest are kept."""
    made_from = (_print_of(form), what.made_from, turn, tip, title, wide_mm)
    return worked.drawn.once(made_from, lambda: (_drawn(form, what, turn, tip, title, wide_mm), what))[0]


def _drawn(form: FormPlan, what: OnForm, turn: int, tip: int, title: str, wide_mm: float | None) -> str:
    if what.skin is None:
        return view_with_mark(form, what.mark, what.stage, turn, tip, title, wide_mm)
    return view_with_painting(form, what.skin, what.spots, what.stage, turn, tip, title, wide_mm, what.mark)


def spots_for_viewer(what: OnForm) -> list[list[float]]:
    """The zones' numbers where a turning view draws them: number, place in m and direction, y up."""

    def y_up(x: float, y: float, z: float, per: float) -> list[float]:
        return [round(x / per, 5), round(z / per, 5), round(-y / per, 5)]

    return [[spot.number, *y_up(*spot.place_mm, 1000.0), *y_up(*spot.square, 1.0)] for spot in what.spots]


def legend(what: OnForm) -> list[dict[str, Any]]:
    """The zones of the painting that is shown by number, hatch, colour and words."""
    from django.utils.safestring import mark_safe

    from wareboard.plan.painting_in_round import zone_colours
    from wareboard.sheets.painter_sheet import zone_rows

    assert what.painted is not None
    colours = zone_colours(what.painted, LOOK_OF[what.shown], what.coats)
    rows = zone_rows(what.painted)
    # Its hatch is our own drawing.
    return [
        {**row, "hatch": mark_safe(row["hatch"]), "shown": colour} for row, colour in zip(rows, colours, strict=True)
    ]


def name_of(code: str, form: FormPlan, what: OnForm, kind: str) -> str:
    """What a file of the piece is called."""
    with_it = {"mark": "-with-mark", "raw": "-painted-raw", "fired": "-painted", "both": "-with-mark-painted"}.get(
        what.shown, ""
    )
    return f"{code}-{slug(form.name)}-{what.stage}{with_it}.{kind}"
