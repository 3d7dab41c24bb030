"""Dry glaze that one dip lays on, by glaze, from pieces weighed before and after."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from wareboard.book.glazes.models import TiedGlaze, WeighedPiece
from wareboard.book.learning.figures import Figure, Marks, Seen
from wareboard.book.learning.measured_figures import measured_figure
from wareboard.book.reckoning.learned import prior
from wareboard.plan.own import pick_up_key

MM2_IN_A_CM2 = 100.0


def _tied() -> Iterator[tuple[str, str, str]]:
    """Glazes of briefs that are tied to one recipe only: the key and name of the glaze, and the key of the recipe.

    A name that two briefs tie to two recipes says nothing of either.
    """
    recipes: dict[str, set[str]] = defaultdict(set)
    names: dict[str, str] = {}
    for tie in TiedGlaze.objects.filter(put_away=None).select_related("version__recipe"):
        key = pick_up_key(tie.glaze)
        names[key] = tie.glaze
        recipes[key].add(pick_up_key(tie.version.recipe.name))
    for key, of in recipes.items():
        if len(of) == 1:
            yield key, names[key], next(iter(of))


def pick_up_figures(marks: Marks, at_the_bench: Iterable[tuple[str, Seen]] = ()) -> list[Figure]:
    """A figure for each glaze of which pieces were weighed.

    Args:
        at_the_bench: pieces weighed among the day's measurements, each with the name of its glaze.
    """
    found: dict[str, list[Seen]] = defaultdict(list)
    names: dict[str, str] = {}
    rows = WeighedPiece.objects.filter(put_away=None).select_related("batch__version__recipe")
    for row in rows:
        gained = row.after_g - row.before_g
        if gained <= 0.0 or row.area_mm2 <= 0.0:
            continue
        name = row.batch.version.recipe.name
        key = pick_up_key(name)
        names[key] = name
        words = (
            f"{gained:.3g} g on {row.area_mm2 / MM2_IN_A_CM2:.0f} cm² in {row.dwell_s:g} s, batch {row.batch.number}"
        )
        at = ("bucket", str(row.batch.number))
        found[key].append(Seen(f"dip/{row.pk}", gained / row.area_mm2 * MM2_IN_A_CM2, words, row.day, at))
    for name, weighed in at_the_bench:
        names[pick_up_key(name)] = name
        found[pick_up_key(name)].append(weighed)
    for key, name, of in _tied():
        if key not in found and of in found:
            names[key], found[key] = name, list(found[of])
    before = prior("glaze.dry_g_per_cm2")
    note = "Weighed on dipped pieces at your own dwell; brushed coats keep the usual figure."
    return [
        measured_figure(
            key, "glaze", f"dry glaze that {names[key]} lays on", before, "scatter.pickup_g_per_cm2", seen, "piece",
            marks, note=note,
        )
        for key, seen in sorted(found.items())
    ]  # fmt: skip
