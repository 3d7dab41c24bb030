"""Plans worked out for the pages, kept in memory by what they were made from, and their headlines kept in the book.

A plan notes which learned figures it asked for and what they said. It holds as long as they say the same, so that a record
of one clay leaves the plans of another alone.
"""

from __future__ import annotations

import contextlib
import hashlib
import threading
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING

from django.conf import settings

from wareboard import __version__
from wareboard.book.learning.acting import kept_figures
from wareboard.book.models import Headline, Version
from wareboard.errors import Problems, WareboardError
from wareboard.plan.own import NOTHING_LEARNED, Own
from wareboard.studio import own_figures, workshop_file
from wareboard.studio.headline import figures_of, figures_of_trouble
from wareboard.studio.today import today

if TYPE_CHECKING:
    from wareboard.plan.result import Plan
    from wareboard.plan.workshop import Workshop

WORKSHOP_FILE = "workshop.toml"

_kept: OrderedDict[str, Plan | Trouble] = OrderedDict()
# One plan at a time: two at once would each take twice as long, and the second often asks for the same one.
_one_at_a_time = threading.Lock()


@dataclass(frozen=True, slots=True)
class Trouble:
    """Why there is no plan, and the digest of the learned figures with which there was none."""

    why: WareboardError
    own_print: str


@dataclass(frozen=True, slots=True)
class Basis:
    """What a plan is worked out from: the workshop's text, the day, and what the workshop's records teach.

    ``kept`` holds the figures of commissions that go by those of the day they were agreed, by the key of the brief's paper.
    """

    workshop_text: str
    day: date
    own: Own = NOTHING_LEARNED
    kept: Mapping[int, Own] = field(default_factory=dict)

    @property
    def print(self) -> str:
        return _digest(self.workshop_text, __version__)

    def for_paper(self, paper: int) -> Basis:
        """The same, with the figures that the commission of this paper goes by."""
        own = self.kept.get(paper)
        return self if own is None else replace(self, own=own)

    def holds(self, headline: Headline, paper: int) -> bool:
        """Whether a headline would come out the same now."""
        if (headline.day, headline.workshop_print) != (self.day, self.print):
            return False
        return self.for_paper(paper).own.agrees(headline.figures.get("leans", {}))


def basis() -> Basis:
    """The workshop, the day and what the records teach, as they are now."""
    text, day = workshop_file.text(), today()
    return Basis(text, day, own_figures.own_now(day, text), kept_figures())


def workshop_of(on: Basis) -> Workshop:
    """The workshop on that day.

    Raises:
        Problems: each naming the workshop's file as its place, so that nobody looks for it in the brief.
    """
    from wareboard.plan.reading import read_workshop

    try:
        return read_workshop(on.workshop_text, today=on.day)
    except Problems as found:
        for each in found.problems:
            each.where = f"{WORKSHOP_FILE}, {each.where}".rstrip(", ")
        raise


def plan_of(text: str, on: Basis, seconds: float = 0.0) -> Plan:
    """The plan of a brief's text.

    Args:
        text: the brief.
        on: the workshop and the day.
        seconds: how long to look for a better calendar; the settings' usual where that is longer.
    Raises:
        WareboardError: with everything that is wrong in the brief or the workshop's file.
    """
    seconds = max(seconds, settings.WAREBOARD.calendar_seconds)
    key = _digest(text, on.workshop_text, on.day.isoformat(), f"{seconds:g}")
    found = _standing(key, on)
    if found is None:
        with _one_at_a_time:
            found = _standing(key, on)
            if found is None:
                found = _kept[key] = _worked_out(text, on, seconds)
                while len(_kept) > settings.WAREBOARD.plans_kept:
                    _kept.popitem(last=False)
    with contextlib.suppress(KeyError):  # another window may just have pushed it out
        _kept.move_to_end(key)
    if isinstance(found, Trouble):
        raise found.why.with_traceback(None)  # kept and raised again and again, it would gather a longer tail each time
    return found


def _standing(key: str, on: Basis) -> Plan | Trouble | None:
    """What is kept under the key, if the learned figures it leant on say the same now."""
    found = _kept.get(key)
    if isinstance(found, Trouble):
        return found if found.own_print == on.own.print else None
    return found if found is not None and on.own.agrees(found.leans) else None


def plan_of_version(version: Version, on: Basis) -> Plan:
    """The plan of a version, its calendar looked for as long as was asked for it."""
    return plan_of(version.text, on.for_paper(version.paper_id), looked_s(version))


def looked_s(version: Version) -> float:
    """How long the calendar of a version was last looked for, where longer than usual."""
    return Headline.objects.filter(version=version).values_list("looked_s", flat=True).first() or 0.0


def look_longer(version: Version, on: Basis, seconds: float) -> None:
    """Look for a better calendar of a version, and keep to it."""
    headline_of(version, on)
    Headline.objects.filter(version=version).update(looked_s=seconds, workshop_print="")
    headline_of(version, on)


def headline_of(version: Version, on: Basis, work_out: bool = True) -> Headline | None:
    """The headline of a version: the kept one where it still holds, else worked out anew and kept."""
    kept = Headline.objects.filter(version=version).first()
    if kept is not None and on.holds(kept, version.paper_id):
        return kept
    if not work_out:
        return kept
    try:
        plan = plan_of_version(version, on)
        figures = {**figures_of(plan), "leans": dict(plan.leans)}
    except WareboardError as problem:
        figures = figures_of_trouble(problem)
    return Headline.objects.update_or_create(
        version=version, defaults={"day": on.day, "workshop_print": on.print, "figures": figures}
    )[0]


def forget() -> None:
    """Let go of every plan kept in memory."""
    _kept.clear()
    own_figures.forget()


def _worked_out(text: str, on: Basis, seconds: float) -> Plan | Trouble:
    from wareboard.plan import compile
    from wareboard.plan.reading import read_brief

    try:
        workshop = workshop_of(on)
        return compile(read_brief(text, workshop, own=on.own), workshop, own=on.own, seconds=seconds)
    except WareboardError as problem:
        return Trouble(problem, on.own.print)


def _digest(*texts: str) -> str:
    whole = hashlib.sha256()
    for text in texts:
        whole.update(text.encode("utf-8", "surrogatepass") + b"\0")
    return whole.hexdigest()
