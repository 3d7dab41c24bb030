"""Clay for the whole job: bags to buy, and how each form's balls are cut from a block."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from wareboard.plan.assume import Assumer
from wareboard.plan.body import Body
from wareboard.plan.brief import Clay
from wareboard.plan.result import ClayPlan, FormPlan
from wareboard.plan.workshop import Workshop

if TYPE_CHECKING:
    from wareboard.clay.block import Block

WARM_UP_BALLS = 3  # thrown to warm up and to try the gauge, for each form; common practice


def clay_plan(
    clay: Clay, body: Body, forms: Sequence[FormPlan], workshop: Workshop, assume: Assumer
) -> tuple[ClayPlan, tuple[FormPlan, ...]]:
    """Clay for all forms, and the forms with the cutting of their balls put in."""
    from wareboard.clay.block import bags_needed, cut_block

    block = block_of(clay, workshop, assume)
    cut_forms = tuple(
        replace(
            form, cut=(cut := cut_block(block.size_mm, block.block_g, form.ball_g)), steps=(*form.steps, *cut.steps)
        )
        for form in forms
    )
    portions = [(form.ball_g, form.start + WARM_UP_BALLS) for form in forms]
    portions += [(form.lid_ball_g, form.start) for form in forms if form.lid_ball_g]
    portions += [(ball, form.start) for form in forms if (ball := form.poured.spout_ball_g)]
    spare = assume.figure("handle.blanks_per_piece").value if any(form.handle_blank_g for form in forms) else 1.0
    handles = [(form.handle_blank_g, round(form.start * spare)) for form in forms if form.handle_blank_g]
    bags = bags_needed(
        portions,
        block.block_g,
        reclaim_share=assume.figure("clay.reclaim_share").value,
        handles=handles,
        lost_share=assume.figure("clay.lost_share").value,
    )
    return ClayPlan(block, body.height, body.width, bags, (*body.steps, *bags.steps)), cut_forms


def block_of(clay: Clay, workshop: Workshop, assume: Assumer) -> Block:
    """The block as it comes out of its bag: sides given, else the usual block nearest in weight, as tall as its weight."""
    from wareboard.clay.block import Block, usual_block
    from wareboard.reference import rows

    weight = assume.figure("clay.bag_g", clay.bag, workshop.bag).value
    if clay.block is not None:
        return Block("as measured", weight, clay.block, "given in the brief")
    name = min(rows("clay/blocks"), key=lambda row: abs(float(row["block_g"]) - weight))["name"]
    usual = usual_block(name)
    width, depth, height = usual.size_mm
    assume.note(
        "clay.block", f"block of {width:g} × {depth:g} × {height * weight / usual.block_g:.0f} mm", 1, "", usual.source
    )
    return Block(usual.name, weight, (width, depth, height * weight / usual.block_g), usual.source)
