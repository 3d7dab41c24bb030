"""A firing that names a load which its commission's plan has not: asked about before it is kept, never refused."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from wareboard.book.firings.models import Firing
from wareboard.book.models import Commission
from wareboard.errors import WareboardError
from wareboard.studio import plans
from wareboard.studio.history import current_of
from wareboard.studio.kilns.planned_load import firing_of
from wareboard.studio.paper_form import Trouble

BOX = "id_load_number"


@dataclass(frozen=True, slots=True)
class Asked:
    """The question, and what the button that answers it yes says and sends."""

    trouble: Trouble
    button: str
    meant: str


def asked_about(got: Mapping[str, Any], posted: Mapping[str, str], kept: Firing | None = None) -> Asked | None:
    """What is to be asked of a firing's boxes; None where the plan has that load, nobody can tell, or it was answered.

    Args:
        got: the boxes as read.
        posted: the boxes as sent, with the answer.
        kept: the firing as it stands; a load that it names already is not asked about again.
    """
    code, kind, number = got.get("commission_code") or "", got.get("kind") or "", got.get("load_number")
    meant = f"{code} {kind} {number}"
    if not code or not number or posted.get("load_meant") == meant:
        return None
    if kept is not None and (kept.commission_code, kept.kind, kept.load_number) == (code, kind, number):
        return None
    there = _planned(code, kind)
    if there is None or number <= there:
        return None
    has = f"{there} {kind} load{'' if there == 1 else 's'}" if there else f"no {kind} load"
    words = (
        f"The plan of {code} has {has}, and this says load {number}. If it was one more, keep it as load {number}; nothing "
        "of what you typed is lost"
    )
    return Asked(Trouble(words, BOX, "Load of the commission"), f"Keep it as load {number}", meant)


def _planned(code: str, kind: str) -> int | None:
    """How many loads of that kind the commission's plan has; None where there is no plan to ask."""
    commission = Commission.objects.filter(code=code).first()
    if commission is None:
        return None
    try:
        plan = plans.plan_of_version(current_of(commission), plans.basis())
    except WareboardError:
        return None
    firing = firing_of(plan, kind)
    return firing.firings if firing is not None else 0
