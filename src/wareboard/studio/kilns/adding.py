"""Filling the gaps of a load: seconds and overs of its own forms, pieces of other commissions, tests of a given size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from wareboard.book.models import Commission
from wareboard.errors import NotInTable, OutOfRange, Unreadable, WareboardError
from wareboard.plan.fillers import fillers_for
from wareboard.plan.firings import load_piece
from wareboard.quantities import length_mm
from wareboard.studio import plans
from wareboard.studio.history import current_of
from wareboard.studio.kilns import pieces
from wareboard.studio.kilns.pieces import OFF, Piece
from wareboard.studio.kilns.planned_load import Planned

OWN, SIZE = "own", "size"
MOST_AT_ONCE = 20
USUAL_STRAP_MM = 25.0  # a handle's width where only its reach is given; from memory


def choices(planned: Planned, asked: Mapping[str, str]) -> dict[str, Any]:
    """What the page offers to add: the forms of this commission or of the one asked for, or a size of one's own."""
    others = Commission.objects.filter(put_away=None).exclude(pk=planned.commission.pk).order_by("code")
    chosen = asked.get("add-from", OWN)
    trouble, forms = "", [form.name for form in planned.plan.forms]
    if chosen not in (OWN, SIZE):
        try:
            forms = [form.name for form in _plan_of(chosen).forms]
        except WareboardError as problem:
            forms, trouble = [], str(problem)
    return {
        "from": [
            (OWN, "This commission"),
            *((each.code, f"{each.code} {each.name}") for each in others),
            (SIZE, "A size"),
        ],
        "chosen": chosen,
        "forms": [] if chosen == SIZE else forms,
        "trouble": trouble,
        "open": bool(asked.get("add-from")),
        "asked": {
            name: asked.get(f"add-{name}", usual)
            for name, usual in (
                ("form", ""),
                ("count", "1"),
                ("shelf", "any"),
                ("name", ""),
                ("across", ""),
                ("height", ""),
                ("handle", ""),
            )
        },
    }


def pieces_asked(planned: Planned, asked: Mapping[str, str], there: Sequence[Piece]) -> list[Piece]:
    """The pieces that were asked for, each in a free place of the shelf asked for, or of any; else not loaded.

    Raises:
        Unreadable, OutOfRange: for a count, a size or a shelf that will not do.
        NotInTable: for a form that the commission has not.
    """
    written = asked.get("add-count", "1").strip()
    if not written.isdecimal() or not 1 <= int(written) <= MOST_AT_ONCE:
        raise OutOfRange(f"{written[:12]} pieces", f"1 to {MOST_AT_ONCE} are added at once", "Write a whole number")
    wanted = asked.get("add-shelf", "any")
    if wanted != "any" and not (wanted.isdecimal() and int(wanted) < len(planned.load)):
        raise OutOfRange(f"shelf {wanted[:12]}", "this load has no such shelf", "Choose one of the list")
    shelves = range(len(planned.load)) if wanted == "any" else [int(wanted)]
    bare = _of_a_size(asked) if asked.get("add-from") == SIZE else _of_a_form(planned, asked)
    added = sum(each.added for each in there)
    if added + int(written) > pieces.MOST_ADDED:
        raise OutOfRange(
            f"{added + int(written)} pieces added", f"{pieces.MOST_ADDED} are the most", "Make another load of them"
        )
    found: list[Piece] = []
    for at in range(int(written)):
        number = added + at
        piece = pieces.added_from([{**bare, "shelf": OFF, "x": 0.0, "y": 0.0, "angle": 0.0}])[0]
        named = _numbered(piece, number)
        firing = planned.firing
        found.append(
            pieces.stood_somewhere(named, planned.load, firing.inside, firing.loads.gap_mm, [*there, *found], shelves)
        )
    return found


def proposed(planned: Planned, there: Sequence[Piece]) -> list[Piece]:
    """The workshop's fillers in the gaps of a load as it is arranged; none of what stands there is moved."""
    fillers = planned.plan.workshop.fillers
    if not fillers:
        return []
    load = pieces.layouts_of(planned.load, there)
    added = sum(each.added for each in there)
    found = fillers_for(planned.firing, load, fillers)[: pieces.MOST_ADDED - added]
    return [
        Piece(
            f"e-{added + at}", f"+{added + at + 1}", each.filler.name, each.filler.across_mm, each.filler.height_mm,
            0.0, 0.0, 1, each.shelf, round(each.x_mm, 1), round(each.y_mm, 1), 0.0,
        )
        for at, each in enumerate(found)
    ]  # fmt: skip


def proposed_words(fresh: Sequence[Piece]) -> list[tuple[int, str]]:
    """What is proposed on each shelf: its place in the load, and how many of what."""
    counts: dict[int, dict[str, int]] = {}
    for each in fresh:
        on = counts.setdefault(each.shelf, {})
        on[each.form] = on.get(each.form, 0) + 1
    return [(at, ", ".join(f"{count} × {name}" for name, count in on.items())) for at, on in sorted(counts.items())]


def _numbered(piece: Piece, number: int) -> Piece:
    from dataclasses import replace

    return replace(piece, key=f"e-{number}", name=f"+{number + 1}")


def _of_a_form(planned: Planned, asked: Mapping[str, str]) -> dict[str, Any]:
    code, name = asked.get("add-from", OWN), asked.get("add-form", "")
    plan = planned.plan if code == OWN else _plan_of(code)
    form = next((each for each in plan.forms if each.name == name), None)
    if form is None:
        raise NotInTable(f"form {name[:40]!r}", "the commission has none of that name", "Choose a form from the list")
    piece = load_piece(form, "bisque" if planned.firing.kind == "bisque" else "glaze")
    return {
        "form": form.name if code != OWN else f"{form.name}, extra",
        "diameter_mm": round(piece.footprint_diameter_mm, 1),
        "height_mm": round(piece.height_mm, 1),
        "reach_mm": round(piece.handle_reach_mm, 1),
        "strap_mm": round(piece.strap_mm, 1),
        "stacked": 1,
        "owner": "" if code == OWN else code,
    }


def _of_a_size(asked: Mapping[str, str]) -> dict[str, Any]:
    name = asked.get("add-name", "").strip()[:40] or "Test"
    missing = [what for what in ("across", "height") if not asked.get(f"add-{what}", "").strip()]
    if missing:
        raise Unreadable(name, f"its size is not given ({' and '.join(missing)})", "Write it as 80 mm or 3 in")
    across, height = (length_mm(asked[f"add-{what}"]) for what in ("across", "height"))
    handle = asked.get("add-handle", "").strip()
    reach = length_mm(handle) if handle else 0.0
    strap = USUAL_STRAP_MM if reach else 0.0
    pieces.check_sizes(name, across, height, reach, strap)
    sizes = {"diameter_mm": across, "height_mm": height, "reach_mm": reach, "strap_mm": strap}
    return {"form": name, **sizes, "stacked": 1, "owner": ""}


def _plan_of(code: str) -> Any:
    commission = Commission.objects.filter(code=code, put_away=None).select_related("paper__current").first()
    if commission is None:
        raise NotInTable(f"commission {code[:12]!r}", "there is none of that code", "Choose one of the list")
    return plans.plan_of_version(current_of(commission), plans.basis())
