"""Writing into the glaze book: each is one short transaction, signed, and can be undone or put away again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import Q

from wareboard.book.firings.signing import Signed, begin, change
from wareboard.book.glazes.models import (
    BatchLine,
    BlendPlan,
    FitTest,
    GlazeBatch,
    GlazeRecipe,
    LabResult,
    Lot,
    RecipeVersion,
    ShelfMaterial,
    TestTile,
    TiedGlaze,
)
from wareboard.book.keeping import NothingThere
from wareboard.errors import OutOfRange
from wareboard.glaze.material import Material
from wareboard.glaze.material_file import LotRow
from wareboard.glaze.recipe import Recipe

Lines = Sequence[tuple[str, float]]


def put_on_shelf(materials: Iterable[Material], analysis_from: str, by: Signed) -> tuple[list[ShelfMaterial], int]:
    """The materials as records, all or none, and how many of them stood there before and were changed."""
    written, changed = [], 0
    with transaction.atomic():
        for entry in materials:
            fields = {
                "oxides_wt": dict(entry.oxides_wt),
                "loi_share": entry.loi_share,
                "hazards": list(entry.hazards),
                "is_clay": entry.is_clay,
                "solubility": entry.solubility,
                "analysis_from": analysis_from,
                "source": entry.source[:200],
                "note": entry.note[:300],
            }
            there = ShelfMaterial.objects.filter(name__iexact=entry.name).first()
            if there is None:
                written.append(begin(ShelfMaterial(name=entry.name[:80], **fields), "Put on the shelf", by))
            else:
                written.append(change(there, fields | {"put_away": None}, "Analysis put in anew", by))
                changed += 1
    return written, changed


def put_with_lots(found: Iterable[tuple[Material, LotRow | None]], by: Signed) -> tuple[int, int, int]:
    """A read table on the shelf, all or none: how many materials, how many of them stood there before, how many new lots.

    A lot that the material has already by that code takes the table's price and stock.
    """
    rows = list(found)
    with transaction.atomic():
        records, changed = put_on_shelf([entry for entry, _ in rows], "supplier", by)
        lots = sum(_put_lot(record, lot, by) for record, (_, lot) in zip(records, rows, strict=True) if lot is not None)
    return len(records), changed, lots


def _put_lot(material: ShelfMaterial, row: LotRow, by: Signed) -> bool:
    """Whether the lot is new."""
    told = {"supplier": row.supplier[:80], "price_per_kg": row.price_per_kg, "stock_g": row.stock_g}
    fields = {name: value for name, value in told.items() if value not in (None, "")}
    there = material.lots.filter(code__iexact=row.code).first()
    if there is not None:
        change(there, fields | {"put_away": None}, "Read from a table", by)
        return False
    begin(Lot(material=material, code=row.code[:60], **fields), "Read from a table", by)
    return True


def begin_recipe(name: str, base: Lines, additions: Lines, why: str, by: Signed, **about: Any) -> GlazeRecipe:
    """A new recipe with its first version."""
    with transaction.atomic():
        recipe = GlazeRecipe(name=name[:80], **about)
        recipe.save()
        recipe.current = _version(recipe, base, additions, None, why, by)
        return begin(recipe, why, by)


def write_version(recipe: GlazeRecipe, base: Lines, additions: Lines, why: str, by: Signed) -> RecipeVersion:
    """The new version, which now counts; the one that counts where it says the same."""
    with transaction.atomic():
        held = GlazeRecipe.objects.select_for_update().get(pk=recipe.pk)
        now = held.current
        if now is not None and _same(now, base, additions):
            return now
        version = _version(held, base, additions, now, why, by)
        change(held, {"current_id": version.pk}, why, by)
    return version


def bring_back(recipe: GlazeRecipe, number: int, by: Signed) -> RecipeVersion:
    """The old version of that number, which counts again.

    Raises:
        NothingThere: if there is none of that number.
    """
    old = recipe.versions.filter(number=number).first()
    if old is None:
        raise NothingThere(f"version {number}", "this recipe has no such version", "Choose one from its versions")
    change(recipe, {"current_id": old.pk}, f"Brought back version {number}", by)
    return old


def _same(version: RecipeVersion, base: Lines, additions: Lines) -> bool:
    return [[*map(list, base)], [*map(list, additions)]] == [version.base, version.additions]


def _version(
    recipe: GlazeRecipe, base: Lines, additions: Lines, parent: RecipeVersion | None, why: str, by: Signed
) -> RecipeVersion:
    Recipe(recipe.name, dict(base), dict(additions))  # refuses what no recipe can be
    latest = recipe.versions.order_by("-number").values_list("number", flat=True).first() or 0
    return RecipeVersion.objects.create(
        recipe=recipe, number=latest + 1, base=[list(line) for line in base],
        additions=[list(line) for line in additions], parent=parent, who=by.who[:80], why=why[:200], written=by.when,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Weighed:
    """One line of a batch as it was weighed in."""

    material: str
    grams: float
    is_addition: bool = False
    lot: Lot | None = None


@dataclass(frozen=True, slots=True)
class Mixed:
    """A bucket as it was mixed."""

    day: date
    lines: Sequence[Weighed]
    wanted_gravity: float
    dry_density: float
    water_ml: float | None = None
    dead_ml: float = 0.0
    note: str = ""
    take_from_stock: bool = field(default=True)


def mix(version: RecipeVersion, mixed: Mixed, by: Signed) -> GlazeBatch:
    """The batch with the next free number; what it took is taken off the lots' stock.

    Raises:
        OutOfRange: if a line weighs nothing or less.
    """
    for line in mixed.lines:
        if not line.grams > 0:
            raise OutOfRange(f"{line.material} is {line.grams:g} g", "what is weighed in weighs something", "Mend it")
    with transaction.atomic():
        last = GlazeBatch.objects.order_by("-number").values_list("number", flat=True).first() or 0
        batch = begin(
            GlazeBatch(
                number=last + 1, version=version, day=mixed.day, water_ml=mixed.water_ml, dead_ml=mixed.dead_ml,
                wanted_gravity=mixed.wanted_gravity, dry_density=mixed.dry_density, note=mixed.note[:200],
            ),
            "Mixed",
            by,
        )  # fmt: skip
        for line in mixed.lines:
            taken = _take(line.lot, line.grams, batch, by) if line.lot and mixed.take_from_stock else None
            BatchLine.objects.create(
                batch=batch, material=line.material, grams=line.grams, is_addition=line.is_addition, lot=line.lot,
                taken_g=taken,
            )  # fmt: skip
    return batch


def _take(lot: Lot, grams: float, batch: GlazeBatch, by: Signed) -> float | None:
    """What was taken off a lot's stock, g; None where its stock is not kept."""
    held = Lot.objects.select_for_update().get(pk=lot.pk)
    if held.stock_g is None:
        return None
    left = max(0.0, held.stock_g - grams)
    change(held, {"stock_g": left}, f"Went into batch {batch.number}", by)
    return held.stock_g - left


def was_used(batch: GlazeBatch) -> bool:
    """Whether anything was glazed out of a bucket, by its card, its weighed pieces and its tiles."""
    return (
        batch.card.filter(put_away=None, pieces__isnull=False).exists()
        or batch.weighed.filter(put_away=None).exists()
        or batch.tiles.filter(put_away=None).exists()
    )


def settle_stock(batch: GlazeBatch, was_away: bool, by: Signed) -> str:
    """What became of a bucket's materials after it was put away or fetched back, in words; blank where neither was done.

    An unused bucket that is put away gives back what it took from the lots' stock; fetched back it takes that again.
    """
    now = GlazeBatch.objects.get(pk=batch.pk)
    is_away = now.put_away is not None
    if is_away == was_away:
        return ""
    lines = [line for line in now.lines.select_related("lot") if line.lot and line.taken_g]
    if was_used(now):
        return "Something was glazed out of it, so what went into it stays used." if lines and is_away else ""
    with transaction.atomic():
        for line in lines:
            _settle(line, is_away, f"Batch {now.number} {'put away unused' if is_away else 'fetched back'}", by)
    if not lines:
        return ""
    return "What went into it is back in stock." if is_away else "What went into it is taken off the stock again."


def _settle(line: BatchLine, is_away: bool, why: str, by: Signed) -> None:
    held = Lot.objects.select_for_update().filter(lines=line).first()
    if held is None or held.stock_g is None:
        return
    taken = line.taken_g or 0.0
    if not is_away and held.stock_g < taken:  # so that putting away again gives back what was there to take
        taken = held.stock_g
        BatchLine.objects.filter(pk=line.pk).update(taken_g=taken)
    change(held, {"stock_g": held.stock_g + (taken if is_away else -taken)}, why, by)


@dataclass(frozen=True, slots=True)
class UsedThem:
    """Everything that a lot went into."""

    batches: tuple[GlazeBatch, ...]
    recipes: tuple[GlazeRecipe, ...]
    tiles: tuple[TestTile, ...]
    fit_tests: tuple[FitTest, ...]
    results: tuple[LabResult, ...]
    tied: tuple[TiedGlaze, ...] = ()


def used_by(lot: Lot) -> UsedThem:
    """Everything that used a lot: batches, recipes that call for the material, tiles, fit tests, laboratory results."""
    batches = tuple(GlazeBatch.objects.filter(lines__lot=lot).distinct().select_related("version__recipe"))
    versions = {batch.version_id for batch in batches}
    recipes = tuple(
        recipe
        for recipe in GlazeRecipe.objects.filter(put_away=None).select_related("current")
        if recipe.current and lot.material.name in names_in(recipe.current)
    )
    told = lot_words(lot)
    return UsedThem(
        batches,
        recipes,
        tuple(TestTile.objects.filter(batch__in=batches)),
        tuple(
            FitTest.objects.filter(
                Q(batch__in=batches) | Q(batch=None, version__in=versions), put_away=None
            ).select_related("version__recipe", "batch")
        ),
        tuple(result for result in LabResult.objects.all() if told in result.glaze_lot.split("; ")),
        tuple(TiedGlaze.objects.filter(batch__in=batches, put_away=None).select_related("batch")),
    )


def names_in(version: RecipeVersion) -> set[str]:
    """The materials of a version by the names it calls them."""
    return {name for name, _ in (*version.base, *version.additions)}


def lot_words(lot: Lot) -> str:
    """A lot as a laboratory result remembers it."""
    return f"{lot.material.name} {lot.supplier} {lot.code}".replace("  ", " ")


def replace_lot(old: Lot, new: Lot, by: Signed) -> Lot:
    """The new lot of the same material, begun; the old one points to it."""
    if new.material_id != old.material_id:
        raise OutOfRange("the new lot", "it is of another material", "Put it in as a lot of its own")
    with transaction.atomic():
        begun = begin(new, f"Replaces lot {old.code}", by)
        change(old, {"replaced_by_id": begun.pk}, f"Replaced by lot {new.code}", by)
    return begun


def tie(code: str, glaze: str, version: RecipeVersion, batch: GlazeBatch | None, by: Signed) -> TiedGlaze:
    """The glaze of a commission tied to a version and a bucket; the bucket's own version counts where one is named."""
    fields = {"version_id": (batch.version_id if batch else version.pk), "batch_id": batch.pk if batch else None}
    held = TiedGlaze.objects.filter(commission_code=code, glaze=glaze).first()
    if held is None:
        return begin(TiedGlaze(commission_code=code, glaze=glaze[:80], **fields), "Tied", by)
    return change(held, fields | {"put_away": None}, "Tied anew", by)


def lots_of(batch: GlazeBatch | None) -> str:
    """The lots in a batch in words, blank where one is not noted: what is not known cannot be the same."""
    lines = list(batch.lines.select_related("lot__material")) if batch else []
    if not lines or any(line.lot is None for line in lines):
        return ""
    return "; ".join(sorted({lot_words(line.lot) for line in lines if line.lot}))


def next_stem() -> str:
    """The next free stem of a blend's tile codes: B1, B2 and so on."""
    taken = [int(stem[1:]) for stem in BlendPlan.objects.values_list("stem", flat=True) if stem[1:].isdecimal()]
    return f"B{max(taken, default=0) + 1}"


def next_tile_code() -> str:
    """The next free code of a single tile: T1, T2 and so on."""
    codes = TestTile.objects.filter(code__startswith="T").values_list("code", flat=True)
    taken = [int(code[1:]) for code in codes if code[1:].isdecimal()]
    return f"T{max(taken, default=0) + 1}"
