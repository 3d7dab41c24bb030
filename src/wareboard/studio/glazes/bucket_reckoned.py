"""What a bucket comes to: its dry glaze, water to thin or dry to thicken, how far it reaches, how thick it lies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wareboard.book.glazes import rooms
from wareboard.book.glazes.models import BucketLine, GlazeBatch, WeighedPiece
from wareboard.book.measures.read import pickups
from wareboard.errors import WareboardError
from wareboard.glaze.application import (
    PickUp,
    Reach,
    Thickness,
    Weighing,
    fit_pick_up,
    picked_up,
    reach,
    thickness,
)
from wareboard.glaze.formula import loi_share
from wareboard.glaze.recipe import scaled
from wareboard.glaze.slip import bucket_now, dry_content_g, dry_to_thicken_g, specific_gravity_of, water_to_thin_ml
from wareboard.reference import default
from wareboard.studio.glazes.density import Density, gravity_now
from wareboard.working import Estimate, Step

# A measured density off by this says that something was left out, put in twice, or that the water is off.
MOST_OFF = 0.02
# Within this of the wanted density a slip is left as it is: the weighing itself is no better.
NEAR_ENOUGH = 0.005
MOST_LINE_OFF = 0.02
MM2_IN_A_CM2 = 100.0
MOST_ROUNDED_G = 0.1  # what rounding to a usual scale may do to a small line


@dataclass(frozen=True, slots=True)
class Slip:
    """What stands in the bucket by one weighing, and what brings it to the density wanted."""

    gravity: Step | None
    steps: tuple[Step, ...]
    do: str
    act: Step | None
    trouble: str = ""


def slip_of(batch: GlazeBatch, measured: Density | None, stock_ml: float | None) -> Slip:
    """The slip by its measured density and the volume that is left of it."""
    if measured is None:
        return Slip(None, (), "Weigh a known volume: 100 ml or more, without the jug's own weight.", None)
    gravity = measured.step
    if not stock_ml:
        return Slip(gravity, (), "Say how much is left in the bucket, and what to add can be worked out.", None)
    try:
        held = bucket_now(stock_ml, gravity.value, batch.dry_density)
        do, act = _bring(batch, stock_ml, gravity.value)
    except WareboardError as problem:
        return Slip(gravity, (), "", None, str(problem))
    return Slip(gravity, held.steps, do, act)


def _bring(batch: GlazeBatch, volume: float, now: float) -> tuple[str, Step | None]:
    want = batch.wanted_gravity
    if abs(now - want) <= NEAR_ENOUGH:
        return f"It is at {now:.2f}, as wanted: leave it.", None
    inputs = {"volume": volume, "now": now, "wanted": want}
    if now > want:
        step = Step(
            "water to stir in", "volume * (now - wanted) / (wanted - 1)", inputs, water_to_thin_ml(volume, now, want),
            "derived", "ml",
        )  # fmt: skip
        return f"Thicker than {want:g}: stir water in, a little less at first, and weigh again.", step
    step = Step(
        "dry batch to stir in", "volume * (wanted - now) * dry_density / (dry_density - wanted)",
        inputs | {"dry_density": batch.dry_density}, dry_to_thicken_g(volume, now, want, batch.dry_density),
        "derived", "g",
    )  # fmt: skip
    return (
        f"Thinner than {want:g}: let it settle and pour clear water off, or stir dry batch of the same recipe in.",
        step,
    )


def expected(batch: GlazeBatch) -> Step | None:
    """The density that the dry batch and its water must come to."""
    dry = sum(line.grams for line in batch.lines.all())
    if not dry or not batch.water_ml:
        return None
    return Step(
        "specific gravity that dry and water must come to",
        "(dry + water) / (water + dry / dry_density)",
        {"dry": dry, "water": batch.water_ml, "dry_density": batch.dry_density},
        specific_gravity_of(dry, batch.water_ml, batch.dry_density),
        "derived",
    )


def amiss(batch: GlazeBatch, lines: Sequence[BucketLine]) -> list[str]:
    """What speaks against the batch: its first measured density, and lines weighed unlike the recipe."""
    found = []
    step = expected(batch)
    first = next((line.gravity for line in lines if line.gravity), None)
    if step and first and abs(first - step.value) > MOST_OFF:
        found.append(
            f"First weighed at {first:.3f}, where its dry weight and water make {step.value:.3f}: something was left out "
            "or put in twice, the water is off, or it had settled. Make a tile before it goes on ware."
        )
    return found + _lines_off(batch)


def _lines_off(batch: GlazeBatch) -> list[str]:
    weighed: dict[tuple[str, bool], float] = {}
    for line in batch.lines.all():
        weighed[line.material, line.is_addition] = weighed.get((line.material, line.is_addition), 0.0) + line.grams
    recipe = rooms.as_recipe(batch.version)
    base = sum(grams for (_, on_top), grams in weighed.items() if not on_top)
    if not base:
        return ["Nothing of the base was weighed in."]
    wanted = {(line.material, line.is_addition): line.exact_g for line in scaled(
        recipe, base_g=base, scale_step_g=1e-6, fine_step_g=1e-6
    ).lines}  # fmt: skip
    return [
        f"{name}: {weighed.get((name, on_top), 0.0):.6g} g weighed in; the recipe asks for {grams:.4g} g in such a batch"
        for (name, on_top), grams in wanted.items()
        if abs(weighed.get((name, on_top), 0.0) - grams) > max(MOST_LINE_OFF * grams, MOST_ROUNDED_G)
    ]


def further(batch: GlazeBatch, lines: Sequence[BucketLine], still_to_do: int | None = None) -> tuple[Reach | None, str]:
    """How many more pieces the bucket does, from the pieces weighed singly, or from what the card says was used.

    ``still_to_do`` goes before what the card says is still to do.
    """
    held = [line for line in lines if line.stock_ml is not None]
    if not held:
        return None, "Write down how much is left, and after five pieces again: that tells how many more it does."
    last = held[-1]
    singly: list[float] = next((line.each_took_ml for line in reversed(lines) if line.each_took_ml), [])
    # Worked out in grams of slip, which is what the room's words say.
    a_ml = gravity_now(batch, lines)
    stock_g, dead_g = (last.stock_ml or 0.0) * a_ml, batch.dead_ml * a_ml
    still = still_to_do
    if still is None:
        still = next((line.still_to_do for line in reversed(lines) if line.still_to_do is not None), None)
    try:
        if len(singly) >= 2:
            return reach(stock_g, [took * a_ml for took in singly], dead_g=dead_g, still_to_do=still), ""
        used, pieces = _used(batch, lines)
        if pieces < 1 or used <= 0:
            return None, "Glaze five pieces, then write down how many there were and how much is left."
        return reach(stock_g, used * a_ml, pieces, dead_g=dead_g, still_to_do=still), ""
    except WareboardError as problem:
        return None, str(problem)


def _used(batch: GlazeBatch, lines: Sequence[BucketLine]) -> tuple[float, int]:
    """Slip used, ml, over the lines that tell how many pieces wore it.

    What was poured less what was dumped back where that was measured, else what the bucket lost; what was stirred in counts
    as having been there.
    """
    used, pieces, before = 0.0, 0, None
    for line in lines:
        if line.pieces and line.poured_ml is not None and line.dumped_ml is not None:
            used += line.poured_ml - line.dumped_ml
            pieces += line.pieces
        elif line.pieces and before is not None and line.stock_ml is not None:
            added = (
                (line.water_added_ml or 0.0) + (line.dry_added_g or 0.0) / batch.dry_density + (line.topped_ml or 0.0)
            )
            used += before + added - line.stock_ml
            pieces += line.pieces
        before = line.stock_ml if line.stock_ml is not None else before
    return used, pieces


@dataclass(frozen=True, slots=True)
class Laid:
    """How much the glaze lays on in a dwell, and how thick that is; or why it cannot be told."""

    fit: PickUp | None
    pieces: int
    dwell_s: float
    layer: Estimate | None
    step: Step | None
    thick: Thickness | None
    dwell_for_usual: str
    trouble: str
    usual: bool


def laid(batch: GlazeBatch, dwell_s: float, gravity: float) -> Laid:
    """Pick-up in a dwell by the workshop's own weighings of this glaze, else the usual figure; with thickness."""
    pieces = list(
        WeighedPiece.objects.filter(batch__version__recipe=batch.version.recipe, put_away=None).select_related("batch")
    )
    weighings = [*(_weighing(piece) for piece in pieces), *_at_the_bench(batch)]
    usual, fit, layer, trouble, wanted = default("glaze.dry_g_per_cm2").estimate, None, None, "", ""
    try:
        if weighings:
            fit = fit_pick_up(weighings)
            layer = fit.pick_up_g_per_cm2(dwell_s, gravity, batch.dry_density)
    except WareboardError as problem:
        trouble = str(problem)
    if fit:
        wanted = _dwell_words(fit, usual.value, gravity, batch.dry_density)
    shown = layer or usual
    return Laid(
        fit, len(weighings), dwell_s, layer, _layer_step(shown, dwell_s, fit if layer else None),
        _thick(batch, shown, gravity), wanted, trouble, layer is None,
    )  # fmt: skip


def _layer_step(layer: Estimate, dwell_s: float, fit: PickUp | None) -> Step:
    how = (
        f"square root of the dwell, fitted to {fit.weighings} weighed pieces"
        if fit
        else "usual figure for one full layer"
    )
    return Step(
        "dry glaze on a square centimetre", "", {"dwell": dwell_s} if fit else {}, layer.value, layer.source, "g/cm2",
        layer.low, layer.high, how,
    )  # fmt: skip


def _weighing(piece: WeighedPiece) -> Weighing:
    return Weighing(
        piece.dwell_s, picked_up(piece.before_g, piece.after_g, piece.area_mm2), piece.gravity,
        piece.batch.dry_density, piece.absorption_share,
    )  # fmt: skip


def _at_the_bench(batch: GlazeBatch) -> list[Weighing]:
    """Pick-ups of this glaze among the day's measurements, where the dwell was noted too."""
    return [
        Weighing(
            row.dwell_s, row.value / (row.area_mm2 or 0.0) * MM2_IN_A_CM2, row.gravity or row.batch.wanted_gravity,
            row.batch.dry_density,
        )
        for row in pickups()
        if row.batch is not None and row.dwell_s and row.batch.version.recipe_id == batch.version.recipe_id
    ]  # fmt: skip


def _dwell_words(fit: PickUp, wanted: float, gravity: float, density: float) -> str:
    try:
        return f"For {wanted:g} g/cm2, the usual full layer: {fit.dwell_s(wanted, gravity, density):.1f} s."
    except WareboardError as problem:
        return f"For {wanted:g} g/cm2, the usual full layer: {problem}"


def _thick(batch: GlazeBatch, layer: Estimate, gravity: float) -> Thickness | None:
    try:
        lost = max(0.0, loi_share(rooms.as_recipe(batch.version), rooms.whole_shelf()))
        return thickness(layer, dry_g_per_ml=dry_content_g(1.0, gravity, batch.dry_density), loi_share=lost)
    except WareboardError:
        return None
