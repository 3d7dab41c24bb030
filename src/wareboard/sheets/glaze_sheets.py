"""Glaze cards: one for each glaze, with what goes where, the batch to weigh, water, slip, coats, colours and cautions."""

from __future__ import annotations

from typing import Any

from wareboard import quantities
from wareboard.plan.result import GlazePlan, Plan
from wareboard.sheets.data import between, head, number, workings
from wareboard.sheets.typesetting import Paper
from wareboard.working import with_small_figures

METHODS = {"pour": "poured", "dip": "dipped", "brush": "brushed"}
ON = {
    "inside": "inside",
    "outside": "outside",
    "all": "inside and outside",
    "rim": "rim",
    "painting": "painting, on the outside",
}
UNSAID = "not said in the brief"
MOST_TICKS = 6
SHORT_SOURCE = 36


def glaze_sheet(plan: Plan, paper: Paper) -> dict[str, Any]:
    """All glaze cards."""
    return head(plan, "Glaze cards", paper) | {
        "cards": [_card(plan, glaze, at) for at, glaze in enumerate(plan.glazes)],
        "painting": plan.brief.painting,
    }


def _card(plan: Plan, glaze: GlazePlan, at: int) -> dict[str, Any]:
    need = glaze.need
    cone = glaze.glaze.cone or plan.glaze_firing.cone
    figure = {step.name: step for step in need.steps}
    gravity = figure["dry glaze in a millilitre of slip"].inputs["slip_density"]
    given = glaze.glaze.specific_gravity is not None
    return {
        "name": glaze.glaze.name,
        "under": f"{ON[glaze.glaze.on]}, {METHODS[glaze.method]}, {_coats(glaze.coats)} · fires to cone {cone}",
        "place": f"{at + 1} of {len(plan.glazes)} in the order of the brief",
        "coats": glaze.coats,
        "ticks": min(glaze.coats, MOST_TICKS),
        "fired_colour": glaze.glaze.fired_colour or UNSAID,
        "raw_colour": glaze.glaze.raw_colour or UNSAID,
        "gravity": f"{gravity:.2f}",
        "gravity_mark": "" if given else "default",
        "dry": quantities.show_mass(need.dry_g),
        "dry_range": between(need.dry.low, need.dry.high, "g"),
        "slip": quantities.show_volume(need.slip_ml),
        "slip_range": between(need.slip.low, need.slip.high, "ml"),
        "water": quantities.show_volume(need.water_ml),
        "record_rows": 0 if glaze.batch else 6,
        "forms": [_on_form(glaze, name) for name in glaze.forms],
        "covers": ""
        if glaze.glaze.covers is None
        else f"covers {quantities.show_share(glaze.glaze.covers)} of the outside",
        "batch": _batch(glaze),
        "notes": [*need.notes, *_batch_notes(glaze)],
        "unity": _unity(glaze),
        "flags": [f"{flag.what}: {flag.why}. {flag.mend}." for flag in glaze.flags],
        "working": workings(
            glaze.steps,
            [
                "dry glaze on all the ware",
                "dry glaze in a millilitre of slip",
                "slip to mix",
                "dry glaze to mix",
                "water for it",
            ],
            SHORT_SOURCE,
        ),
    }


def _coats(coats: int) -> str:
    return "1 coat" if coats == 1 else f"{coats} coats"


def _on_form(glaze: GlazePlan, name: str) -> list[str]:
    """Form, pieces, area of a piece, dry glaze and slip on one piece, by its share of the whole area."""
    area_mm2 = glaze.areas_mm2[name]
    all_mm2 = sum(area * glaze.pieces[form] for form, area in glaze.areas_mm2.items())
    grams = glaze.need.on_ware_g * area_mm2 / all_mm2 if all_mm2 else 0.0
    in_a_ml = next(step.value for step in glaze.need.steps if step.name == "dry glaze in a millilitre of slip")
    return [
        name,
        str(glaze.pieces[name]),
        f"{area_mm2 / 100:.0f} cm²",
        f"{number(round(grams, 1))} g",
        f"{number(round(grams / in_a_ml, 1))} ml",
    ]


def _batch(glaze: GlazePlan) -> list[list[str]]:
    """The lines to weigh: material, grams, and what the scale shows when it is in."""
    batch = glaze.batch
    if batch is None:
        return []
    places = 0 if batch.scale_step_g >= 1 else 1 if batch.scale_step_g >= 0.1 else 2
    return [
        [
            line.material,
            f"{line.grams:,.{places}f}",
            f"{line.running_total_g:,.{places}f}",
            "addition, on top" if line.is_addition else quantities.show_share(line.share),
        ]
        for line in batch.lines
    ]


def _batch_notes(glaze: GlazePlan) -> list[str]:
    return [note for note in glaze.batch.notes if not note.startswith("Care")] if glaze.batch else []


def _unity(glaze: GlazePlan) -> str:
    if glaze.unity is None:
        return ""
    formula = ", ".join(f"{with_small_figures(oxide)} {moles:.2f}" for oxide, moles in glaze.unity.items())
    expands = glaze.expansion_per_k
    if expands is None:
        return f"Unity formula: {formula}."
    low, best, high = (each * 1e6 for each in (expands.low, expands.value, expands.high))
    expansion = f"{best:.1f} ({low:.1f} to {high:.1f}) millionths per K"
    return f"Unity formula: {formula}. Reckoned expansion {expansion}: a hint for tests, not a fit."
