"""How much of a glaze a job needs, with its range, before the first piece is glazed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from wareboard.errors import WareboardError
from wareboard.glaze.slip import GlazeNeed, need
from wareboard.reference import default
from wareboard.studio.glazes.boxes import USUAL_DWELL_S, Box, Form, count, positive_number, seconds
from wareboard.working import Estimate

BOXES = (
    Box("pieces", "Pieces", count, needed=True, example="24"),
    Box(
        "area",
        "Glazed area of one, cm2",
        positive_number,
        needed=True,
        example="276",
        help="fired; a mug inside is about 280",
    ),
    Box("coats", "Coats", count, first="1", needed=True),
    Box("way", "Laid on", kind="choice", options=(("pour", "poured or dipped"), ("brush", "brushed")), first="pour"),
    Box("dwell", "Dwell", seconds, first="3 s", help="counts once pieces of this glaze were weighed"),
)


@dataclass(frozen=True, slots=True)
class JobNeed:
    """The form, and what the job needs where it could be worked out."""

    form: Form
    need: GlazeNeed | None = None
    to_weigh: str = ""
    own: bool = False


def job_need(asked: Mapping[str, str], weighed: Callable[[float], Estimate | None]) -> JobNeed:
    """What was asked of a job, by usual losses and reserve; what is wrong stands in the form.

    ``weighed`` gives dry glaze on a square centimetre in a dwell by the workshop's own weighings, or None: then the usual
    figure counts, as it does for the brush.
    """
    form = Form(BOXES, asked if "pieces" in asked else None, "job")
    if form.typed is None or not form.is_right:
        return JobNeed(form)
    got, brushed = form.values, form.values["way"] == "brush"
    own = None if brushed else weighed(got["dwell"] or USUAL_DWELL_S)
    try:
        found = need(
            got["area"] * 100.0, got["pieces"], own or _usual("dry_g_per_cm2"),
            _usual("brush_specific_gravity" if brushed else "specific_gravity"), _usual("dry_density_g_per_ml"),
            _usual("brush_dead_ml" if brushed else "dead_ml"), _usual("loss_share"), 0.0, got["coats"],
            coats_for_full_layer=_usual("coats_brush") if brushed else 1.0, reserve_share=_usual("reserve_share"),
        )  # fmt: skip
    except WareboardError as problem:
        form.tell(problem)
        return JobNeed(form)
    return JobNeed(form, found, f"{found.dry_g:.0f} g", own is not None)


def _usual(name: str) -> Estimate:
    return default(f"glaze.{name}").estimate
