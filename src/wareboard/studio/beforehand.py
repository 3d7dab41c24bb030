"""What is worked out after the first page that a start shows, so that whoever opens a commission next need not wait."""

from __future__ import annotations

import logging
import threading

log = logging.getLogger(__name__)
LONGEST_WAIT_S = 10.0  # for a plan that is still being worked out when the studio closes


def after_the_first_page() -> threading.Thread:
    """A thread that works out the newest plan once a first page is answered, so that it does not hold that page up."""
    from django.core.signals import request_finished

    thread = threading.Thread(target=_on_its_own, name="beforehand", daemon=True)

    def begin(**_: object) -> None:
        if request_finished.disconnect(begin):  # true for the first to come here, and for nobody after it
            thread.start()

    request_finished.connect(begin, weak=False)
    return thread


def ended(thread: threading.Thread) -> None:
    """Wait for a plan that is still being worked out: a search that is cut off in the middle would end in a crash."""
    if thread.is_alive():
        thread.join(LONGEST_WAIT_S)


def newest_plan() -> None:
    """Keep the plan of the commission in hand that was written in last, and with it load what planning needs.

    Only one: while a plan is worked out, other pages wait for theirs.

    Raises:
        WareboardError: where that commission's brief cannot be planned; its page says so too.
    """
    from wareboard.book.models import Commission
    from wareboard.studio import plans

    in_hand = Commission.objects.filter(put_away=None, paper__current__isnull=False)
    last = in_hand.select_related("paper__current").order_by("-paper__current__pk").first()
    if last is not None and last.paper.current is not None:
        plans.plan_of_version(last.paper.current, plans.basis())


def without_a_word() -> None:
    """The same; nobody asked for it, so nobody is told if it fails: the page says what is wrong when it is opened."""
    try:
        newest_plan()
    except Exception:
        log.info("nothing was worked out beforehand", exc_info=True)


def _on_its_own() -> None:
    from django.db import connections

    try:
        without_a_word()
    finally:
        connections.close_all()  # the thread's own
