"""The kilns that pages know: of the workshop's file, of the briefs in hand, and with records though neither names them."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404

from wareboard.book.firings import kiln_model, kiln_names, recording
from wareboard.book.firings import models as records
from wareboard.book.firings.signing import Signed
from wareboard.book.learning.briefs import facts_of
from wareboard.book.models import Commission
from wareboard.errors import WareboardError
from wareboard.plan.reading import read_workshop
from wareboard.plan.workshop import Kiln, Workshop
from wareboard.studio import workshop_file
from wareboard.studio.today import today


@dataclass(frozen=True, slots=True)
class KnownKiln:
    """One kiln: its name, its place in addresses, its sizes by file or brief, and its record once it was fired.

    ``in_file``: whether the workshop's file or the brief of a commission in hand names it, so that it may be fired again.
    """

    name: str
    slug: str
    sizes: Kiln
    in_file: bool
    record: records.Kiln | None

    def recorded(self, by: Signed) -> records.Kiln:
        """Its record, begun where there is none yet."""
        return self.record or recording.kiln_named(self.name, by)


def workshop() -> tuple[Workshop, WareboardError | None]:
    """The workshop, or an empty one and what stands in the way of reading its file."""
    try:
        return read_workshop(workshop_file.text(), today=today()), None
    except WareboardError as problem:
        return Workshop(today=today()), problem


def known_kilns() -> list[KnownKiln]:
    """Every kiln, those of the file first, then those of briefs; a record that another carries on stands under that one."""
    kept = {each.name: each for each in records.Kiln.objects.filter(put_away=None).select_related("continues")}
    found = [_known(sizes, kept.pop(sizes.name, None)) for sizes in _named()]
    carried_on = {each.continues_id for each in records.Kiln.objects.filter(put_away=None)}
    return found + [
        KnownKiln(each.name, each.slug, kiln_model.whole(Kiln(name=each.name)), False, each)
        for each in kept.values()
        if each.pk not in carried_on and (each.firings.exists() or each.continues_id)
    ]


def names_in_file() -> list[str]:
    """The kilns that the workshop's file or a brief in hand names."""
    return [each.name for each in _named()]


def _named() -> list[Kiln]:
    """Kilns by the file, which goes first, and by the briefs of commissions in hand; the usual one where a plan takes it."""
    there, _ = workshop()
    briefs = [
        facts_of(each).brief for each in Commission.objects.filter(put_away=None).select_related("paper__current")
    ]
    of_briefs = {kiln.name: kiln for brief in briefs if brief for kiln in brief.kilns}
    taken_as_usual = not of_briefs or any(brief and not brief.kilns for brief in briefs)
    found = {each.name: each for each in kiln_model.workshop_kilns(there)} if there.kilns or taken_as_usual else {}
    for name, kiln in of_briefs.items():
        if name not in found:
            found[name] = kiln_model.whole(kiln)
    return list(found.values())


def _known(sizes: Kiln, record: records.Kiln | None) -> KnownKiln:
    slug = record.slug if record else recording.slug_of(sizes.name)
    return KnownKiln(sizes.name, slug, sizes, True, record)


def kiln_at(slug: str) -> KnownKiln:
    """The kiln at that address; no page where there is none.

    A record that another carries on keeps its address: it is the same kiln, with the sizes that it has now.
    """
    every = known_kilns()
    for each in every:
        if each.slug == slug:
            return each
    earlier = records.Kiln.objects.filter(slug=slug, put_away=None).first()
    if earlier is not None:
        newest = kiln_names.newest_of(earlier)
        now = next((each for each in every if each.record == newest), None)
        if now is not None:
            return KnownKiln(earlier.name, earlier.slug, now.sizes, now.in_file, earlier)
    raise Http404
