"""What is thrown: the wheel and board card of each form."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from wareboard import quantities, reference
from wareboard.plan.approved import tolerance_mm
from wareboard.plan.result import FormPlan, Plan
from wareboard.plan.solids import handle_place_at, joins_at, lid_at, poured_at
from wareboard.sheets.data import between, head, length, number, other_length, tolerance, workings
from wareboard.sheets.typesetting import Paper, printable
from wareboard.working import Step, per_cent

if TYPE_CHECKING:
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
MOST_SINGLE_BOXES = 120
FIVE_BAR = 5
SHORT_SOURCE = 36


def throw_sheet(plan: Plan, form: FormPlan, paper: Paper) -> dict[str, Any]:
    """The wheel card and the board card of one form."""
    unit, mark = plan.length_unit, mark_lengths(plan, form)
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
        "chance": f"{per_cent(form.overage.chance_reached)} chance that none need making again",
        "extras": extras(form),
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


def extras(form: FormPlan) -> list[list[str]]:
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
            f"{quantities.show_share(share.good_share)} ({per_cent(share.low)} to {per_cent(share.high)})",
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
