"""Which form of a commission a mark or a painting is for: the one that is asked for, and links to the others."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.http import Http404, HttpRequest
from django.urls import reverse
from django.utils.http import urlencode

from wareboard.book.models import Commission
from wareboard.book.prototypes import pictures
from wareboard.book.prototypes.models import ClientPicture
from wareboard.plan.slug import slug

if TYPE_CHECKING:
    from wareboard.plan.result import Plan


@dataclass(frozen=True, slots=True)
class Choice:
    """A form that has a mark or a painting, or may have one; ``gone`` where the brief has it no more."""

    name: str
    held: ClientPicture | None
    gone: bool = False

    @property
    def code(self) -> str:
        """The form in an address."""
        return slug(self.name)

    @property
    def words(self) -> str:
        """Its name, and what is to be known of it."""
        return f"{self.name}, {'no longer in the brief' if self.gone else 'none yet'}" if self.needs_word else self.name

    @property
    def needs_word(self) -> bool:
        return self.gone or self.held is None


def choices(commission: Commission, plan: Plan, kind: str) -> list[Choice]:
    """The forms of the brief in its order, then those that have a picture and are not in it any more."""
    held = {slug(row.form): row for row in pictures.all_of(commission, kind)}
    found = [Choice(form.name, held.pop(slug(form.name), None)) for form in plan.forms]
    return [*found, *(Choice(row.form, row, gone=True) for row in held.values())]


def chosen(request: HttpRequest, among: list[Choice]) -> Choice:
    """The form asked for by ``form``; without it the first that has a picture, else the first.

    Raises:
        Http404: if there is none of that name.
    """
    asked = slug(request.POST.get("form") or request.GET.get("form", ""))
    if asked:
        found = next((each for each in among if each.code == asked), None)
        if found is None:
            raise Http404
        return found
    return next((each for each in among if each.held is not None), among[0])


def art_address(code: str, kind: str, form: str, name: str = "art") -> str:
    """The address of a form's mark or painting, of what comes of it, or of its sheet."""
    return f"{reverse(name, args=[code, kind])}?{urlencode({'form': slug(form)})}"


def context_of(commission: Commission, kind: str, here: Choice, among: list[Choice]) -> Mapping[str, object]:
    """What the pages of a mark or a painting show of its form: its name, its addresses, the row of links to the others."""
    followed = here.held.same_as if here.held else None
    return {
        "on_form": here,
        "art_of": {
            name.replace("-", "_"): art_address(commission.code, kind, here.name, name)
            for name in ("art", "art-worked", "art-sheet")
        },
        "form_links": [(each.words, art_address(commission.code, kind, each.name), each is here) for each in among]
        if len(among) > 1
        else [],
        "followed": followed,
        "followers": [
            each.held.form for each in among if each.held and here.held and each.held.same_as_id == here.held.pk
        ],
        "free_forms": [each.name for each in among if each.held is None and not each.gone] if here.gone else [],
    }
