"""Approving a prototype, taking that back, and what has changed since."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from django.db import transaction

from wareboard.book.firings import signing
from wareboard.book.firings.signing import Signed
from wareboard.book.learning import acting
from wareboard.book.learning.models import FiguresKept
from wareboard.book.models import Commission, Version
from wareboard.book.prototypes.approved_pictures import changed_pictures, pictures_of
from wareboard.book.prototypes.models import Approval
from wareboard.plan.approved import Difference, Fact, differences, facts_of
from wareboard.plan.own import Own

if TYPE_CHECKING:
    from wareboard.plan.result import Plan

AS_APPROVED = "Kept as approved"


def approve(
    commission: Commission, version: Version, plan: Plan, own: Own, day: date, why: str, by: Signed
) -> Approval:
    """The prototype frozen as this plan and the pictures stand, and the learned figures kept by which it was planned.

    An approval that stands already gives way; its own words stay in the record's history.
    """
    why = why.strip() or "Approved by the client"
    fields = {
        "version_id": version.pk,
        "day": day,
        "why": why[:200],
        "facts": [fact.kept() for fact in facts_of(plan)],
        "pictures": pictures_of(commission),
    }
    with transaction.atomic():
        acting.keep_figures(commission, own, day, AS_APPROVED, by)
        held = Approval.objects.select_for_update().filter(commission=commission).first()
        if held is None:
            return signing.begin(Approval(commission=commission, **fields), why, by)
        return signing.change(held, {**fields, "put_away": None}, why, by)


def take_back(commission: Commission, by: Signed) -> None:
    """No approval stands any more, and figures kept with it are let go; both can be had again."""
    held = standing(commission)
    if held is not None:
        with transaction.atomic():
            signing.put_away(held, "Approval taken back", by)
            # Figures that were kept when it was sent stay: the client has seen them.
            if FiguresKept.objects.filter(commission=commission, put_away=None, why=AS_APPROVED).exists():
                acting.let_figures_go(commission, by)


def again(commission: Commission, own: Own, day: date, by: Signed) -> Approval | None:
    """The approval that was taken back, standing again just as it was; None where there was none."""
    held = Approval.objects.filter(commission=commission).exclude(put_away=None).first()
    if held is None:
        return None
    with transaction.atomic():
        acting.keep_figures(commission, own, day, AS_APPROVED, by)
        return signing.fetch_back(held, "Approval stands again", by)


def sent(commission: Commission, own: Own, day: date, by: Signed) -> None:
    """The plan was sent to the client: from now on it goes by the learned figures of that day."""
    acting.keep_figures(commission, own, day, "Kept as sent to the client", by)


def standing(commission: Commission) -> Approval | None:
    """The approval that stands, if any."""
    return Approval.objects.select_related("version").filter(commission=commission, put_away=None).first()


def changed_since(approval: Approval, plan: Plan) -> tuple[Difference, ...]:
    """Every fact and picture that is no longer what was approved."""
    then = [Fact(*row) for row in approval.facts]
    return (*differences(then, facts_of(plan)), *changed_pictures(approval))
