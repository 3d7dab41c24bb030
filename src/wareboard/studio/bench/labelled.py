"""What can carry a label with a code to scan: boards, buckets, shelves and kilns, each with the address of its page."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

from django.urls import reverse

from wareboard.book.boards import shelves
from wareboard.book.boards.codes import on_the_ware
from wareboard.book.glazes.models import GlazeBatch
from wareboard.sheets.bench_labels import Label
from wareboard.studio.bench.standing import InHand
from wareboard.studio.kilns import known_kilns


def labels_for(kinds: Iterable[str], base: str, there: Iterable[InHand]) -> list[Label]:
    """The labels of the kinds asked for; ``base`` is the studio's address without what comes behind the host."""
    rows = list(there)
    return [label for kind in kinds if kind in KINDS for label in KINDS[kind](base, rows)]


def _boards(base: str, there: list[InHand]) -> Iterator[Label]:
    for each in there:
        for board in each.boards:
            below = f"{board.form} · {each.commission.code}"
            yield Label(on_the_ware(board.code), below, base + reverse("bench-board", args=[board.code]))


def _buckets(base: str, there: list[InHand]) -> Iterator[Label]:
    found = GlazeBatch.objects.filter(put_away=None).select_related("version__recipe").order_by("number")
    for batch in found:
        below = f"{batch.version.recipe.name}, mixed {batch.day.day} {batch.day:%b %Y}"
        yield Label(f"Bucket {batch.number}", below, base + reverse("glaze-bucket", args=[batch.number]))


def _shelves(base: str, there: list[InHand]) -> Iterator[Label]:
    for number in range(1, shelves.how_many() + 1):
        yield Label(shelves.name_of(number), "", base + reverse("bench-shelf", args=[number]))


def _kilns(base: str, there: list[InHand]) -> Iterator[Label]:
    for kiln in known_kilns.known_kilns():
        yield Label(kiln.name, "kiln", base + reverse("one-kiln", args=[kiln.slug]))


KINDS: Mapping[str, Callable[[str, list[InHand]], Iterator[Label]]] = {
    "boards": _boards,
    "buckets": _buckets,
    "shelves": _shelves,
    "kilns": _kilns,
}
