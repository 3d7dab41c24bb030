"""How a form's balls are cut from a block of clay, and what else is weighed by hand."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from wareboard import quantities
from wareboard.plan.result import FormPlan, Plan
from wareboard.sheets.data import counted, day, head, length, workings
from wareboard.sheets.making import extras
from wareboard.sheets.typesetting import Paper

if TYPE_CHECKING:
    from wareboard.clay.block import BlockCut

WARM_UP_BALLS = 3


def cutting_sheet(plan: Plan, paper: Paper) -> dict[str, Any]:
    """How each form's balls are cut from a block, and the bags to buy."""
    clay, unit = plan.clay, plan.length_unit
    width, depth, height = clay.block.size_mm
    return head(plan, "Cutting plan", paper) | {
        "block": f"{quantities.show_mass(clay.block.block_g)} ({quantities.show_mass(clay.block.block_g, 'lb')})",
        "block_size": " × ".join(length(each, unit) for each in (width, depth, height)) + " (width, depth, height)",
        "block_note": "measure your own block first" if clay.block.source != "given in the brief" else "as given",
        "bags": str(clay.bags.bags),
        "bags_words": counted(clay.bags.bags, "bag"),
        "clay": quantities.show_mass(clay.bags.clay_g),
        "reclaim": quantities.show_mass(clay.bags.reclaim_g),
        "forms": [_cut(form, clay.block.size_mm, unit) for form in plan.forms if form.cut is not None],
        "others": small_portions(plan),
        "due": day(plan.brief.due),
        "working": workings(clay.steps, ["clay to weigh out", "comes back as reclaim", "clay to buy", "bags"]),
    }


def _cut(form: FormPlan, block_mm: tuple[float, float, float], unit: str) -> dict[str, Any]:
    cut = form.cut
    assert cut is not None
    balls = form.start + WARM_UP_BALLS
    each = cut.portions
    blocks = math.ceil(balls / each) * cut.blocks_per_portion
    return {
        "name": form.name,
        "ball": quantities.show_mass(form.ball_g),
        "balls": f"{balls} balls ({form.start} and {WARM_UP_BALLS} to warm up)",
        "blocks": f"{counted(blocks, 'block')}, {each} balls from each"
        if cut.blocks_per_portion == 1
        else f"{blocks} blocks, {cut.blocks_per_portion} to each ball",
        "words": cut.words,
        "over": f"Trim {cut.over_g:.0f} g off each piece to bring it to weight." if cut.over_g >= 1 else "",
        "drawing": block_drawing(cut, block_mm),
    }


def small_portions(plan: Plan) -> list[list[str]]:
    """Handle blanks and lid balls, which are weighed by hand."""
    return [[form.name, *extra[:2]] for form in plan.forms for extra in extras(form)]


def block_drawing(cut: BlockCut, block_mm: tuple[float, float, float], widest_mm: float = 46.0) -> dict[str, Any]:
    """The block seen from its front corner, with the wire cuts, as lines (x1, y1, x2, y2) in mm on paper."""
    across, deep, tall = block_mm
    lean, rise = 0.5 * math.cos(math.radians(30)), 0.5 * math.sin(math.radians(30))
    scale = min(widest_mm / (across + deep * lean), widest_mm / (tall + deep * rise))

    def place(x: float, y: float, z: float) -> tuple[float, float]:
        return (x + y * lean) * scale, (tall - z + (deep - y) * rise) * scale

    cuts = [(place(*start), place(*end)) for start, end in _cut_lines(cut, block_mm)]
    edges = [
        ((0, 0, 0), (across, 0, 0)),
        ((across, 0, 0), (across, deep, 0)),
        ((0, 0, 0), (0, 0, tall)),
        ((across, 0, 0), (across, 0, tall)),
        ((across, deep, 0), (across, deep, tall)),
        ((0, 0, tall), (across, 0, tall)),
        ((0, 0, tall), (0, deep, tall)),
        ((across, 0, tall), (across, deep, tall)),
        ((0, deep, tall), (across, deep, tall)),
    ]
    drawn = [(place(*start), place(*end)) for start, end in edges]
    return {
        "width": (across + deep * lean) * scale,
        "height": (tall + deep * rise) * scale,
        "cuts": [[*start, *end] for start, end in cuts],
        "edges": [[*start, *end] for start, end in drawn],
    }


Spot = tuple[float, float, float]


def _cut_lines(cut: BlockCut, block_mm: tuple[float, float, float]) -> list[tuple[Spot, Spot]]:
    """Where the wire shows on the front, the right side and the top of the block."""
    axes = ("width", "depth", "height")
    across, deep, tall = (count * spacing for count, spacing in zip(cut.counts, cut.spacings_mm, strict=True))
    main = (across, deep, tall)
    regions: list[tuple[Spot, Spot, tuple[int, int, int]]] = [((0.0, 0.0, 0.0), main, cut.counts)]
    slab_at = axes.index(cut.slab_axis) if cut.slab_axis else None
    if slab_at is not None:
        base, sides = [0.0, 0.0, 0.0], list(block_mm)
        base[slab_at], sides[slab_at] = main[slab_at], block_mm[slab_at] - main[slab_at]
        counts = cut.slab.counts if cut.slab else (1, 1, 1)
        regions.append(((base[0], base[1], base[2]), (sides[0], sides[1], sides[2]), counts))
    found: list[tuple[Spot, Spot]] = []
    for start, size, counts in regions:
        for axis in range(3):
            for step in range(0 if start[axis] > 0 else 1, counts[axis]):
                at = start[axis] + size[axis] * step / counts[axis]
                found += _on_faces(axis, at, start, size, block_mm)
    return found


def _on_faces(axis: int, at: float, start: Spot, size: Spot, block_mm: Spot) -> list[tuple[Spot, Spot]]:
    """The traces of one cut across ``axis`` on the three faces that are seen."""
    faces = ((1, 0.0), (0, block_mm[0]), (2, block_mm[2]))  # front (depth 0), right side, top
    found: list[tuple[Spot, Spot]] = []
    for face, where in faces:
        if face == axis or not start[face] - 1e-6 <= where <= start[face] + size[face] + 1e-6:
            continue
        along = 3 - axis - face
        one, two = [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]
        one[axis] = two[axis] = at
        one[face] = two[face] = where
        one[along], two[along] = start[along], start[along] + size[along]
        found.append(((one[0], one[1], one[2]), (two[0], two[1], two[2])))
    return found
