"""The kilns that pages know: those of the workshop's file, and those with records though the file names them no more."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404

from wareboard.book.firings import kiln_model, recording
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
    """Every kiln, those of the file first, in its order."""
    there, _ = workshop()
    kept = {each.name: each for each in records.Kiln.objects.filter(put_away=None)}
    found = [_known(sizes, kept.pop(sizes.name, None)) for sizes in kiln_model.workshop_kilns(there)]
    return found + [
        KnownKiln(each.name, each.slug, kiln_model.whole(Kiln(name=each.name)), False, each)
        for each in kept.values()
        if each.firings.exists()
    ]


def _known(sizes: Kiln, record: records.Kiln | None) -> KnownKiln:
    slug = record.slug if record else recording.slug_of(sizes.name)
    return KnownKiln(sizes.name, slug, sizes, True, record)


def kiln_at(slug: str) -> KnownKiln:
    """The kiln at that address; no page where there is none."""
    for each in known_kilns():
        if each.slug == slug:
            return each
    raise Http404
