"""True cost over reckoned cost, from the jobs that are finished: each worked out beside its own plan."""

from __future__ import annotations

from wareboard.book.learning.actual import finished_on, plan_against_actual
from wareboard.book.learning.figures import Figure, marks
from wareboard.book.learning.price import cost_record, price_figure
from wareboard.book.models import Commission
from wareboard.errors import WareboardError
from wareboard.studio import plans

MOST_JOBS = 12  # the last ones: each asks for a plan


def price_now(on: plans.Basis) -> Figure:
    """The figure after the last finished jobs."""
    found = []
    rows = Commission.objects.filter(boards__isnull=False).select_related("paper__current").distinct()
    for commission in rows.order_by("-created"):
        day = finished_on(commission)
        version = commission.paper.current
        if day is None or version is None:
            continue
        try:
            against = plan_against_actual(commission, plans.plan_of_version(version, on))
        except WareboardError:
            continue
        record = cost_record(commission.code, against.reckoned_cost, against.true_cost, against.currency, day.date())
        found += [record] if record else []
        if len(found) >= MOST_JOBS:
            break
    return price_figure(found, marks(on.day))
