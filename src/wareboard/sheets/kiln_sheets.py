"""Shelf plans: what stands on which shelf in which load."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from wareboard.plan.fillers import filler_words, fillers_for
from wareboard.plan.result import FiringPlan, Plan
from wareboard.sheets.data import head, length, workings
from wareboard.sheets.typesetting import PAGE_MM, Paper, printable

if TYPE_CHECKING:
    from wareboard.kiln.inside import Load, ShelfLayout

SCALES = (3, 4, 5, 6, 8, 10, 12, 15, 20, 25)
MOST_WORKED = 2  # forms whose working stands at the foot of the loads; the others' is in figures.json
SHELF_ROOM_MM = (40.0, 48.0)  # what margins and heads leave of a page turned on its side: width and height


@dataclass(frozen=True, slots=True)
class Loaded:
    """The plan with its loads as they were arranged by hand; ``told`` says of (kind, number) by whom, and what is out."""

    plan: Plan
    told: Mapping[tuple[str, int], str] = field(default_factory=dict)


def forms_in_order(plan: Plan) -> list[str]:
    """All forms' names, so that each has the same letter on every shelf."""
    return [form.name for form in plan.forms]


def patterns(loads: Sequence[Load]) -> dict[int, list[tuple[int, int]]]:
    """Which shelves are laid alike: place of the first such shelf -> (load, place in the load) of each.

    Shelves are alike if the same pieces stand in the same places; their heights and posts may differ.
    """
    kinds: dict[tuple[Any, ...], list[tuple[int, int]]] = {}
    for number, load in enumerate(loads):
        for at, layout in enumerate(load):
            kinds.setdefault(_look(layout), []).append((number, at))
    return dict(enumerate(kinds.values()))


def _look(layout: ShelfLayout) -> tuple[Any, ...]:
    places = sorted(
        (form, round(float(x), 1), round(float(y), 1), int(stacked))
        for form, (x, y), stacked in zip(layout.forms, layout.centres_mm, layout.stacked, strict=True)
    )
    # A shelf without posts on it is drawn without them, so the top shelf is its own kind.
    return layout.shelf.name, tuple(places), bool(layout.posts)


def pattern_name(number: int) -> str:
    """1, 2, 3 …: forms have letters, patterns have numbers."""
    return str(number + 1)


def shelf_sheet(plan: Plan, paper: Paper, told: Mapping[tuple[str, int], str] | None = None) -> dict[str, Any]:
    """Every load of both firings, shelf by shelf; ``told``: as `Loaded` has it."""
    return head(plan, "Shelf plans", paper) | {
        "firings": [
            _firing_shelves(plan, firing, paper, told or {})
            for firing in (plan.bisque, plan.glaze_firing)
            if firing.firings
        ],
        "note": "One form to a shelf where there are enough of it, so that a set stands on like levels in every load. "
        "Photograph each shelf from above before the next goes on: it is the cheapest record there is.",
    }


def _firing_shelves(
    plan: Plan, firing: FiringPlan, paper: Paper, told: Mapping[tuple[str, int], str]
) -> dict[str, Any]:
    kinds = patterns(firing.loads.loads)
    names = {place: number for number, places in kinds.items() for place in places}
    unit = plan.length_unit
    scale = _shelf_scale(plan, firing, paper)
    return {
        "kind": firing.kind.capitalize(),
        "kiln": firing.in_kilns,
        "firings": firing.firings,
        "scale": f"1 : {scale}",
        "gap": length(firing.loads.gap_mm, unit),
        "bottom_post": length(firing.inside.bottom_post_mm, unit),
        "loads": [
            _load(number, load, names, unit)
            | {"told": _told(firing, number + 1, told), "fillers": _fillers(plan, firing, number + 1, told)}
            for number, load in enumerate(firing.loads.loads)
        ],
        "patterns": [_pattern(plan, firing, number, places, 1 / scale) for number, places in kinds.items()],
        "working": workings(
            firing.steps,
            [
                *(f"{form.name}: pieces on one shelf" for form in plan.forms[:MOST_WORKED]),
                f"{firing.kind} firings",
                "firings that no plan can do without",
            ],
        ),
    }


def _told(firing: FiringPlan, number: int, told: Mapping[tuple[str, int], str]) -> str:
    """What is said of one load: its kiln where there are several, and by whom it was arranged."""
    kiln = f"In {firing.home(number).kiln.name}." if firing.homes else ""
    return " ".join(words for words in (kiln, told.get((firing.kind, number), "")) if words)


def _fillers(plan: Plan, firing: FiringPlan, number: int, told: Mapping[tuple[str, int], str]) -> str:
    """The workshop's fillers that fit in a load's gaps; nothing where a person has arranged it."""
    if not plan.workshop.fillers or (firing.kind, number) in told:
        return ""
    load, there = firing.loads.loads[number - 1], firing.in_load(number)
    words = filler_words(fillers_for(there, load, plan.workshop.fillers), load)
    return f"In its gaps fit, nothing moved: {words}." if words else ""


def _shelf_scale(plan: Plan, firing: FiringPlan, paper: Paper) -> int:
    """The largest usual scale at which two shelves stand side by side on the page."""
    from wareboard.kiln.shelf_map import shelf_svg

    page_short, page_long = sorted(PAGE_MM[paper])
    room = (page_long - SHELF_ROOM_MM[0]) / 2, page_short - SHELF_ROOM_MM[1]
    sizes = [_size_mm(shelf_svg(layout, scale=1.0)) for load in firing.loads.loads for layout in load]
    wide, tall = max(size[0] for size in sizes), max(size[1] for size in sizes)
    return next((scale for scale in SCALES if wide / scale <= room[0] and tall / scale <= room[1]), SCALES[-1])


def _size_mm(svg: str) -> tuple[float, float]:
    wide, tall = (float(svg.split(f'{side}="', 1)[1].split("mm", 1)[0]) for side in ("width", "height"))
    return wide, tall


def shelf_drawing(plan: Plan, layout: ShelfLayout, title: str, scale: float, name: str) -> str:
    """One shelf from above, as the kiln room draws it."""
    from wareboard.kiln.shelf_map import shelf_svg

    return shelf_svg(layout, title=title, forms=forms_in_order(plan), scale=scale, name=name)


def _pattern(
    plan: Plan, firing: FiringPlan, number: int, places: Sequence[tuple[int, int]], scale: float
) -> dict[str, Any]:
    load, at = places[0]
    layout = firing.loads.loads[load][at]
    title = f"Pattern {pattern_name(number)}: {layout.pieces} pieces"
    svg = shelf_drawing(plan, layout, title, scale, f"{firing.kind}-{number + 1}")
    return {
        "svg": printable(svg, scale),
        "width": _size_mm(svg)[0],
        "name": pattern_name(number),
        "alt": f"{title}: " + ", ".join(f"{count} {form}" for form, count in layout.counts.items()),
        "where": _where(places),
    }


def _where(places: Sequence[tuple[int, int]]) -> str:
    """ "load 1: shelves 1 to 4; load 3: shelf 4"."""
    by_load: dict[int, list[int]] = {}
    for load, at in places:
        by_load.setdefault(load, []).append(at + 1)
    return "; ".join(
        f"load {load + 1}: {'shelf' if len(shelves) == 1 else 'shelves'} {_runs(shelves)}"
        for load, shelves in by_load.items()
    )


def _runs(numbers: Sequence[int]) -> str:
    """Rising numbers, with three and more in a row as "2 to 5"."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)


def _load(number: int, load: Load, names: dict[tuple[int, int], int], unit: str) -> dict[str, Any]:
    """One load as it is stacked; the lowest shelf stands at the foot of the table, as in the kiln."""
    rows = [
        [
            str(at + 1) + (f" {'left' if layout.half == 0 else 'right'}" if any(each.half for each in load) else ""),
            ", ".join(f"{count} × {form}" for form, count in layout.counts.items()),
            pattern_name(names[number, at]),
            length(layout.level_mm, unit),
            length(layout.post_mm, unit) if layout.post_mm else "none: top",
        ]
        for at, layout in enumerate(load)
    ]
    return {
        "name": f"Load {number + 1}",
        "pieces": sum(layout.pieces for layout in load),
        "rows": list(reversed(rows)),
    }


# --- drawings as files of their own -----------------------------------------------------------------------------------

FILE_SCALE = 0.25


def shelf_file(plan: Plan, layout: ShelfLayout, stem: str, at: int) -> bytes:
    """One shelf from above as an SVG file, one to four."""
    title = f"{stem.replace('-', ' ').capitalize()}, shelf {at}: {layout.pieces} pieces"
    return shelf_drawing(plan, layout, title, FILE_SCALE, f"{stem}-{at}").encode("utf-8")


def side_file(plan: Plan, firing: FiringPlan, load: Load, number: int, stem: str) -> bytes:
    """One load from the side as an SVG file, one to four."""
    from wareboard.kiln.shelf_map import load_side_svg

    title = f"{firing.kind.capitalize()} load {number}: {sum(layout.pieces for layout in load)} pieces"
    svg = load_side_svg(
        load, firing.home(number).inside, title=title, forms=forms_in_order(plan), scale=FILE_SCALE, name=f"{stem}-side"
    )
    return svg.encode("utf-8")
