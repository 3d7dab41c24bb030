"""What is thrown: the wheel and board card of each form, and the cutting of its balls."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from wareboard import quantities, reference
from wareboard.plan.answers import unit_of
from wareboard.plan.approved import tolerance_mm
from wareboard.plan.result import FormPlan, Plan
from wareboard.plan.solids import handle_place_at, joins_at, lid_at, poured_at
from wareboard.sheets.data import between, counted, day, head, length, number, other_length, tolerance, workings
from wareboard.sheets.typesetting import Paper, printable
from wareboard.working import Step

if TYPE_CHECKING:
    from wareboard.clay.block import BlockCut
    from wareboard.clay.shrinkage import StageLengths

INCHES = {"in": "inches"}
STAGES = ("wet", "leather-hard", "dry", "bisque", "fired")
ACROSS = ("rim", "belly", "foot", "lid")
CALIPERS = {"rim": "rim, outside", "belly": "belly, outside", "foot": "foot, outside", "lid": "lid"}
ROOM_FOR_SECTION_MM: Mapping[Paper, tuple[float, float]] = {"a4": (94.0, 80.0), "letter": (94.0, 74.0)}
ZOOM = 1.1  # drawings are enlarged by this with their letters, and drawn so much smaller: letters then print at 8.5 pt
TALLY_STAGES = {
    "thrown": "thrown",
    "handled": "handled",
    "dried": "bone dry",
    "carried": "carried",
    "bisque": "bisqued",
    "glazed": "glazed",
    "fired": "good",
}
BOXES_IN_A_LINE = 30
WARM_UP_BALLS = 3
MOST_SINGLE_BOXES = 120
FIVE_BAR = 5
SHORT_SOURCE = 36


def throw_sheet(plan: Plan, form: FormPlan, paper: Paper) -> dict[str, Any]:
    """The wheel card and the board card of one form."""
    unit, mark = unit_of(plan), mark_lengths(plan, form)
    section, width = section_drawing(form, ROOM_FOR_SECTION_MM[paper], unit)
    default_marks = {tolerance_mm(form, name)[1] for name in ("height", "rim")}
    note = (
        "Set calipers and gauge to the wet sizes, from the printed strip. ± is the agreed fired difference, at wet size"
    )
    note += ", here the usual one (default): none was agreed." if True in default_marks else "."
    return head(plan, f"Throwing card: {form.name}", paper) | {
        "name": form.name,
        "what": f"{form.form.count} wanted, {form.start} to start · {plan.brief.clay.name or 'clay not named'}",
        "ball": quantities.show_mass(form.ball_g).split()[0],
        "ball_unit": quantities.show_mass(form.ball_g).split()[1],
        "ball_other": quantities.show_mass(form.ball_g, "oz"),
        "ball_range": _weight_range(form.ball.low_g, form.ball.high_g),
        "start": str(form.start),
        "wanted": str(form.form.count),
        "chance": f"{form.overage.chance_reached:.0%} chance that none need making again",
        "extras": _extras(form),
        "section": section,
        "section_width": width,
        "section_alt": f"Section of {form.name} at its wet size, left half cut, right half seen from outside",
        "wheel": [_wheel_row(form, name, unit) for name in _at_the_wheel(form)],
        "wheel_note": note,
        "handle": _handle_rows(form, unit),
        "joining": _joining_rows(form, unit),
        "stages": [_stage_row(form, name, unit) for name in form.lengths] + _mark_row(mark, unit),
        "mark": _mark_words(plan),
        "stages_note": "From the fired sizes and the shrinkage by each stage; a board measured half way shows where it is.",
        "tally": _tally(form),
        "tally_head": "one stroke through a box for each piece"
        if _pieces_to_a_box(form) == 1
        else f"a five-bar gate in each box, {FIVE_BAR} pieces",
        "tally_note": f"{form.start} to start; {form.form.count} good are wanted.",
        "yields": _yields(form),
        "yields_note": "Counts are expectations; losses come by the load. Your own counts replace these shares.",
        "drying": _drying(form),
        "working_wheel": workings(_wheel_steps(form), ["…"], SHORT_SOURCE),
        "working_board": workings(
            [*form.steps, *(mark.steps if mark else ())],
            [
                "mark, leather-hard",
                "share that comes through every stage",
                "pieces to start",
            ],
            SHORT_SOURCE,
        ),
    }


def _wheel_steps(form: FormPlan) -> list[Step]:
    """The working behind the wheel card: two sizes, the route by which the ball was reckoned, and the blank."""
    others = [step for step in form.steps if step.name in ("ball to weigh", "handle: blank to pull from", "lid: ball")]
    return [*(form.lengths[name].steps[0] for name in ("height", "rim")), *form.ball.steps, *others]


def section_drawing(form: FormPlan, room_mm: tuple[float, float], unit: str = "mm") -> tuple[str, float]:
    """The section at wet size, as large as the room allows up to life size; and its printed width, mm."""
    from wareboard.form.poured_section import reach_of, top_of
    from wareboard.form.section import section_svg

    lip, spout = poured_at(form, "wet")
    reach = reach_of(form.wet_profile, lip, spout)
    across = form.wet_profile.widest_mm / 2 + reach + (_handle_reach_mm(form) if form.strap else 0.0)
    lid = lid_at(form, "wet")
    tall = max(top_of(form.wet_profile, spout), lid.top_mm if lid else 0.0)
    fits = min(1.0, (room_mm[0] - 34.0) / across, (room_mm[1] - 34.0) / tall)
    scale = math.floor(fits * 20) / 20 if fits >= 0.2 else max(math.floor(fits * 100) / 100, 0.01)
    svg = section_svg(
        form.wet_profile,
        scale=scale / ZOOM,
        title=f"Wet size, in {INCHES.get(unit, unit)}",
        unit=unit,
        handle=_wet_strap(form),
        handle_at_mm=handle_place_at(form, "wet"),
        check_line=False,
        lip=lip,
        spout=spout,
        lid=lid,
    ).replace(f"drawn {_percent(scale / ZOOM)} % of size", f"drawn {_percent(scale)} % of size")
    width = float(svg.split('width="', 1)[1].split("mm", 1)[0]) * ZOOM
    return printable(svg, ZOOM), width


def section_file(form: FormPlan, unit: str = "mm") -> str:
    """The section at wet size as an SVG file, life size."""
    from wareboard.form.section import section_svg

    lip, spout = poured_at(form, "wet")
    return section_svg(
        form.wet_profile,
        title=form.name,
        note=f"Wet size, in {INCHES.get(unit, unit)}",
        unit=unit,
        handle=_wet_strap(form),
        handle_at_mm=handle_place_at(form, "wet"),
        name="section",
        lip=lip,
        spout=spout,
        lid=lid_at(form, "wet"),
    )


def _percent(scale: float) -> str:
    return f"{scale * 100:.1f}".removesuffix(".0")


def _handle_reach_mm(form: FormPlan) -> float:
    assert form.strap is not None
    return form.strap.wet_gap_mm + form.strap.wet_thickness_mm + 12.0


def _wet_strap(form: FormPlan) -> Any:
    """The handle as it is joined, wet, for the drawing."""
    if form.strap is None:
        return None
    from wareboard.form.handle import strap

    return strap(
        form.lengths["handle height"].wet_mm,
        form.strap.wet_gap_mm,
        form.strap.wet_width_mm,
        form.strap.wet_thickness_mm,
        taper=form.strap.taper,
    )


def _weight_range(low: float | None, high: float | None) -> str:
    return "" if low is None or high is None else between(low, high, "g")


def _extras(form: FormPlan) -> list[list[str]]:
    """Handle blanks and lid balls, each with its weight and range."""
    found = []
    if form.handle_blank_g and form.strap:
        blanks = math.ceil(form.start * reference.default("handle.blanks_per_piece").value)
        span = _weight_range(form.strap.blank_low_g, form.strap.blank_high_g)
        found.append([quantities.show_mass(form.handle_blank_g), f"handle blank; pull about {blanks}", span])
    if form.lid_ball_g:
        found.append([quantities.show_mass(form.lid_ball_g), f"lid ball, {form.start} of them", ""])
    if form.poured.clay:
        clay = form.poured.clay
        found.append(
            [
                quantities.show_mass(form.poured.spout_ball_g or clay.ball_g),
                f"spout ball, {form.start} of them",
                _weight_range(clay.low_g, clay.high_g),
            ]
        )
    return found


def _at_the_wheel(form: FormPlan) -> list[str]:
    return [name for name in ("height", "rim", "belly", "foot", "depth inside", "floor", "lid") if name in form.lengths]


def _wheel_row(form: FormPlan, name: str, unit: str) -> list[str]:
    lengths = form.lengths[name]
    wet, first = lengths.wet_mm, lengths.steps[0]
    allowed = tolerance_mm(form, name)[0] * wet / lengths.fired_mm
    span = ""
    if first.low is not None and first.high is not None and length(first.low, unit) != length(first.high, unit):
        span = between(first.low, first.high, "length", unit)
    words = CALIPERS.get(name, {"floor": "floor under the needle", "depth inside": "depth inside"}.get(name, name))
    shown = "" if name in ("floor", "depth inside") else tolerance(allowed, unit)
    return [words, length(wet, unit), other_length(wet, unit), shown, span]


def _handle_rows(form: FormPlan, unit: str) -> list[list[str]]:
    names = [name for name in form.lengths if name.startswith("handle ")]
    words = {
        "handle height": "height over both roots",
        "handle gap": "room for the fingers",
        "handle width": "width at the upper root",
        "handle thickness": "thickness at the upper root",
        "handle strap length": "length along its middle",
    }
    return [
        [
            words.get(name, name),
            *(length(form.lengths[name].at(stage), unit) for stage in ("wet", "leather-hard", "fired")),
        ]
        for name in names
    ]


def _joining_rows(form: FormPlan, unit: str) -> list[str]:
    """Where the handle goes on the leather-hard piece: each root, and its place round the body."""
    if form.strap is None:
        return []
    joins = joins_at(form, "leather-hard")
    lines = [f"{join.root} root {length(join.height_mm, unit)} up: {join.words}" for join in joins]
    turn = form.handle_turn_deg
    tape = math.radians(min(turn, 360 - turn)) * joins[1].radius_mm
    return [*lines, f"{turn:.0f}° round from the {form.front}: {length(tape, unit)} by tape at the upper root"]


def _stage_row(form: FormPlan, name: str, unit: str) -> list[str]:
    lengths = form.lengths[name]
    allowed = tolerance(tolerance_mm(form, name)[0], unit) if name in ("height", "rim", "belly", "foot", "lid") else ""
    return [name, *(length(lengths.at(stage), unit) for stage in STAGES), allowed]


def mark_lengths(plan: Plan, form: FormPlan) -> StageLengths | None:
    """How high the mark is at each stage on this form, so that it is cut at its leather-hard size."""
    from wareboard.clay.shrinkage import lengths_by_stage

    mark = plan.brief.mark
    if mark is None or mark.height is None or not form.form.marks:
        return None
    return lengths_by_stage(mark.height, form.loss_height, "mark", plan.clay.shrinkage_height.source)


def _mark_row(mark: StageLengths | None, unit: str) -> list[list[str]]:
    """Tenths of a millimetre: artwork is enlarged by a copier to them."""
    if mark is None:
        return []
    shown = [f"{mark.at(stage):.1f} mm" if unit == "mm" else length(mark.at(stage), unit) for stage in STAGES]
    return [["mark, height", *shown, ""]]


def _mark_words(plan: Plan) -> str:
    mark = plan.brief.mark
    if mark is None or not (mark.what or mark.place):
        return ""
    return ", ".join(part for part in (mark.what, mark.place) if part)


def _tally(form: FormPlan) -> list[list[Any]]:
    """Boxes in tens, thirty to a line, for what is started and for what comes good; for five pieces each where many."""
    rows: list[list[Any]] = []
    for name, count in (("started", form.start), ("good", form.form.count)):
        left, first = math.ceil(count / _pieces_to_a_box(form)), True
        while left > 0:
            here = min(left, BOXES_IN_A_LINE)
            groups = [10] * (here // 10) + ([here % 10] if here % 10 else [])
            rows.append([name if first else "", groups])
            left, first = left - here, False
    return rows


def _pieces_to_a_box(form: FormPlan) -> int:
    return 1 if form.start <= MOST_SINGLE_BOXES else FIVE_BAR


def _yields(form: FormPlan) -> list[list[str]]:
    words = TALLY_STAGES
    return [
        [
            words.get(count.stage, count.stage),
            f"{quantities.show_share(share.good_share)} ({share.low:.0%} to {share.high:.0%})",
            f"{count.expected_after:.0f} of {count.going_in:.0f}",
            str(count.fewest_after),
        ]
        for count, share in zip(form.overage.stage_counts, form.yields, strict=True)
    ]


def _drying(form: FormPlan) -> str:
    soft, dry = form.drying.leather_hard_h, form.drying.bone_dry_days
    return (
        f"Leather-hard after about {number(round(soft.value))} h left open ({soft.low:.0f} to {soft.high:.0f}); bone dry "
        f"after about {number(round(dry.value))} days under a light cover ({dry.low:.0f} to {dry.high:.0f}). Rough: weigh "
        "one piece daily, and call it dry when two weighings agree."
    )


# --- cutting ----------------------------------------------------------------------------------------------------------


def cutting_sheet(plan: Plan, paper: Paper) -> dict[str, Any]:
    """How each form's balls are cut from a block, and the bags to buy."""
    clay, unit = plan.clay, unit_of(plan)
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
    return [[form.name, *extra[:2]] for form in plan.forms for extra in _extras(form)]


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
