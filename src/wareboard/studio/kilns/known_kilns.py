"""The kilns that pages know: those of the workshop's file, and those with records though the file names them no more."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404

from wareboard.book.firings import kiln_model, kiln_names, recording
from wareboard.book.firings import models as records
from wareboard.book.firings.signing import Signed
from wareboard.errors import WareboardError
from wareboard.plan.reading import read_workshop
from wareboard.plan.workshop import Kiln, Workshop
from wareboard.studio import workshop_file
from wareboard.studio.today import today


@dataclass(frozen=True, slots=True)
class KnownKiln:
    """One kiln: its name, its place in addresses, what the workshop's file says of it, and its record once it was fired."""

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
    """Every kiln, those of the file first, in its order; a record that another carries on stands under that one."""
    there, _ = workshop()
    kept = {each.name: each for each in records.Kiln.objects.filter(put_away=None).select_related("continues")}
    found = [_known(sizes, kept.pop(sizes.name, None)) for sizes in kiln_model.workshop_kilns(there)]
    carried_on = {each.continues_id for each in records.Kiln.objects.filter(put_away=None)}
    return found + [
        KnownKiln(each.name, each.slug, kiln_model.whole(Kiln(name=each.name)), False, each)
        for each in kept.values()
        if each.pk not in carried_on and (each.firings.exists() or each.continues_id)
    ]


def names_in_file() -> list[str]:
    """The kilns that the workshop's file names."""
    there, _ = workshop()
    return [each.name for each in kiln_model.workshop_kilns(there)]


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
