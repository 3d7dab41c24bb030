"""Planning: a brief and a workshop become a plan, every number with its working."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from wareboard.plan.brief import Brief
    from wareboard.plan.own import Own
    from wareboard.plan.result import Plan
    from wareboard.plan.workshop import Workshop


def compile(
    brief: Brief,
    workshop: Workshop | None = None,
    *,
    own: Own | None = None,
    seconds: float = 10.0,
    load_seconds: float = 0.0,
) -> Plan:
    """Everything that follows from a brief in a workshop; see `wareboard.plan.compiling.compile`."""
    from wareboard.plan.compiling import compile as compile_plan

    return compile_plan(brief, workshop, own=own, seconds=seconds, load_seconds=load_seconds)
