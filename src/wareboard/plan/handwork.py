"""Hands-on minutes a piece, task by task, and which glaze is put on how."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from wareboard.plan.assume import Assumer
from wareboard.plan.brief import Brief, Form, Glaze
from wareboard.plan.result import KindOfForm
from wareboard.plan.workshop import OwnFigures
from wareboard.working import Estimate

Method = Literal["pour", "dip", "brush"]
METHOD_FOR: Mapping[str, Method] = {"inside": "pour", "all": "dip"}


def worn_by(form: Form, brief: Brief) -> tuple[Glaze, ...]:
    """The glazes that a form wears: those that name it, and those that name none."""
    return tuple(glaze for glaze in brief.glazes if not glaze.forms or form.name in glaze.forms)


def marks_a_piece(form: Form, brief: Brief) -> int:
    """Marks carved on each piece: as often as its drawing is asked for, else as the form says; 0 without a mark."""
    if form.carving is not None:
        return form.carving.count or max(1, form.marks)
    return form.marks if brief.mark is not None else 0


def minutes_a_piece(
    form: Form, kind: KindOfForm, brief: Brief, own: OwnFigures, assume: Assumer
) -> Mapping[str, Estimate]:
    """Hands-on minutes a piece, task by task, in the order of the making."""
    tasks: list[tuple[str, str, float]] = [("weigh", "minutes.weigh", 1.0), ("throw", f"minutes.throw.{kind}", 1.0)]
    tasks.append(("trim", f"minutes.trim.{kind}", 1.0))
    if form.handle is not None:
        tasks.append(("handle", "minutes.handle", 1.0))
    if form.lid is not None:
        tasks.append(("lid", "minutes.lid", 1.0))
    if form.spout is not None:
        tasks.append(("spout", "minutes.spout", 1.0))
    if carved := marks_a_piece(form, brief):
        tasks.append(("mark", "minutes.mark", float(carved)))
    tasks.append(("sand", "minutes.sand", 1.0))
    tasks += _glazing_tasks(form, brief, assume)
    tasks += [("grind", "minutes.grind", 1.0), ("pack", "minutes.pack", 1.0)]
    found: dict[str, Estimate] = {}
    for task, key, times in tasks:
        one = assume.figure(key, form.minutes.get(task), own.minutes.get(f"{kind}.{task}", own.minutes.get(task)))
        before = found.get(task, Estimate(0.0, 0.0, 0.0, one.source))
        found[task] = Estimate(
            before.value + one.value * times, before.low + one.low * times, before.high + one.high * times, one.source
        )
    return found


def _glazing_tasks(form: Form, brief: Brief, assume: Assumer) -> list[tuple[str, str, float]]:
    worn = worn_by(form, brief)
    if not worn:
        assume.note("glazes.none", "no glaze given: one poured liner and one dip are reckoned for time", 1, "")
        return [("liner", "minutes.liner", 1.0), ("dip", "minutes.dip", 1.0)]
    tasks: list[tuple[str, str, float]] = []
    for glaze in worn:
        method, coats = method_and_coats(glaze, assume)
        if method == "pour":
            tasks.append(("liner", "minutes.liner", 1.0))
        elif method == "dip":
            tasks.append(("dip", "minutes.dip", 1.0))
        else:
            # A coat that covers a tenth of the wall is not a tenth of the work of a whole one: at least a third.
            tasks.append(("paint", "minutes.brush_coat", coats * max(1 / 3, covers(glaze, assume))))
    return tasks


def method_and_coats(glaze: Glaze, assume: Assumer) -> tuple[Method, int]:
    """How a glaze goes on and in how many coats."""
    method = glaze.method or METHOD_FOR.get(glaze.on, "brush")
    if glaze.coats is not None:
        return method, glaze.coats
    return method, round(assume.figure("glaze.coats_brush").value) if method == "brush" else 1


def covers(glaze: Glaze, assume: Assumer) -> float:
    """Share of the surface named by ``on`` that a glaze covers."""
    if glaze.covers is not None:
        return glaze.covers
    if glaze.on == "painting":
        return assume.figure("glaze.painting_share").value
    return 1.0
