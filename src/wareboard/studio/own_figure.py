"""Where a person puts a figure of their own in place of a usual one: the page and the box."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from wareboard.plan.result import Plan


@dataclass(frozen=True, slots=True)
class OwnPlace:
    """The page (the commission's or the workshop's) and the id of the box on it."""

    page: Literal["edit", "workshop", "text"]
    box: str
    words: str


PLACES: tuple[tuple[str, str, str], ...] = (
    (r"clay\.shrinkage", "edit", "clay-shrinkage"),
    (r"clay\.water_share", "edit", "clay-water"),
    (r"clay\.loss_on_ignition", "edit", "clay-loss-on-ignition"),
    (r"clay\.wet_density.*", "edit", "clay-wet-density"),
    (r"clay\.fired_density.*", "edit", "clay-fired-density"),
    (r"clay\.(?:bag_g|block)", "edit", "clay-bag"),
    (r"clay\.price_per_kg", "edit", "prices-clay-per-kg"),
    (r"glaze\.price_per_kg", "edit", "prices-glaze-per-kg"),
    (r"overage\.chance", "edit", "chance"),
    (r"yield\..*", "workshop", "own-good"),
    (r"minutes\..*", "workshop", "own-minutes"),
    (r"firing\.bisque_cone", "edit", "firing-bisque-cone"),
    (r"firing\.glaze_cone", "edit", "firing-glaze-cone"),
    (r"firing\.hold_min", "edit", "firing-hold"),
    (r"kiln\.(?:shelf_mm|height_mm|shelf_thickness_mm|power_kw|wear_per_firing|one)", "workshop", "kilns"),
    (r"kilns?\..*usual", "workshop", "kilns"),
    (r"people\..*", "workshop", "people"),
    (r"prices\.currency", "workshop", "prices-currency"),
    (r"prices\.wage_per_hour", "workshop", "prices-wage-per-hour"),
    (r"prices\.energy_per_kwh", "workshop", "prices-energy-per-kwh"),
    (r"prices\.overhead_share", "workshop", "prices-overhead"),
    (r"prices\.packing_per_piece", "workshop", "prices-packing-per-piece"),
    (r"prices\.margin_share", "edit", "prices-margin"),
    (r"prices\.deposit_share", "edit", "prices-deposit"),
    (r"prices\.prototype_hours", "edit", "prices-prototype-hours"),
)
OF_A_KIND = {"trim": "trimming", "wall": "wall", "floor": "floor", "rim_to_height": "rim", "foot_to_rim": "foot"}
OF_A_HANDLE = {
    "handle.width_mm": "width",
    "handle.thickness_mm": "thickness",
    "handle.gap_mm": "gap",
    "handle.height_share": "height",
}
TOLERANCES = {"tolerance.height_mm": "height-tolerance", "tolerance.width_mm": "width-tolerance"}
OF_A_GLAZE = {
    "glaze.specific_gravity": "specific-gravity",
    "glaze.brush_specific_gravity": "specific-gravity",
    "glaze.coats_brush": "coats",
    "glaze.painting_share": "covers",
}


def place_for(key: str, plan: Plan) -> OwnPlace | None:
    """Where to put a figure in place of the default ``key``; None where there is no box for it."""
    for pattern, page, box in PLACES:
        if re.fullmatch(pattern, key):
            # A brief that names its own kilns or people does so in its text, and the workshop's are not asked.
            if (box == "kilns" and plan.brief.kilns) or (box == "people" and plan.brief.people):
                return OwnPlace("text", "brief-text", "in the brief’s text")
            return OwnPlace(
                "edit" if page == "edit" else "workshop", box, "in the brief" if page == "edit" else "in the workshop"
            )
    stem, _, kind = key.partition(".")
    if stem in OF_A_KIND:
        return _on_a_form(plan, OF_A_KIND[stem], lambda form: form.kind == kind)
    if key in OF_A_HANDLE:
        return _on_a_form(plan, f"handle-{OF_A_HANDLE[key]}", lambda form: form.strap is not None)
    if key in TOLERANCES:
        return _on_a_form(plan, TOLERANCES[key], lambda form: True)
    shape = re.fullmatch(r"forms\.(.+)\.shape", key)
    if shape:
        return _on_a_form(plan, "shape", lambda form: form.name == shape[1])
    if key in OF_A_GLAZE and plan.glazes:
        brushed = [number for number, glaze in enumerate(plan.glazes) if ("brush" in key) == (glaze.method == "brush")]
        return OwnPlace("edit", f"glazes-{brushed[0] if brushed else 0}-{OF_A_GLAZE[key]}", "in the brief")
    return None


def _on_a_form(plan: Plan, box: str, fits: object) -> OwnPlace | None:
    number = next((number for number, form in enumerate(plan.forms) if callable(fits) and fits(form)), None)
    return OwnPlace("edit", f"forms-{number}-{box}", "in the brief") if number is not None else None
