"""What comes back into a bucket and what is stirred into it: liners dumped out, another slip, topping up for the rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from wareboard.book.glazes.models import BucketLine, GlazeBatch
from wareboard.errors import OutOfRange, WareboardError
from wareboard.glaze.application import Reach
from wareboard.glaze.poured import Poured, poured, top_up_ml, topped_up
from wareboard.glaze.slip import bucket, dry_content_g, slip_ml
from wareboard.studio.glazes.boxes import Box, Form, millilitres, positive_number
from wareboard.studio.glazes.density import gravity_now
from wareboard.working import Step

JOIN = (
    Box("join_ml", "Slip to stir in", millilitres, needed=True, example="800 ml"),
    Box("join_gravity", "Its specific gravity", positive_number, needed=True, example="1.48"),
)


def in_the_bucket(batch: GlazeBatch, lines: Sequence[BucketLine]) -> float:
    """What is left, ml: what the card last said, else what was mixed."""
    last = next((line.stock_ml for line in reversed(lines) if line.stock_ml is not None), None)
    if last is not None:
        return last
    dry = sum(line.grams for line in batch.lines.all())
    if batch.water_ml:
        return batch.water_ml + dry / batch.dry_density
    return slip_ml(dry, batch.wanted_gravity, batch.dry_density) if dry else 0.0


def dumped_back(lines: Sequence[BucketLine]) -> Poured | None:
    """What the last poured pieces kept and gave back."""
    last = next(
        (line for line in reversed(lines) if line.pieces and line.poured_ml and line.dumped_ml is not None), None
    )
    if last is None:
        return None
    try:
        return poured(last.poured_ml or 0.0, last.dumped_ml or 0.0, last.pieces or 0)
    except WareboardError:
        return None  # the card refuses such a line; an older one may hold it


def look_at_pouring(form: Form) -> None:
    """Tell what cannot be of a poured liner, beside its boxes."""
    got = form.values
    if (got["poured_ml"] is None) != (got["dumped_ml"] is None):
        form.tell(
            OutOfRange("a poured liner", "what was poured and what came back go together", "Write both"), "dumped_ml"
        )
    elif got["poured_ml"] is not None:
        try:
            if got["pieces"] is None:
                raise OutOfRange("a poured liner", "how many pieces it was poured into is missing", "Write how many")
            poured(got["poured_ml"], got["dumped_ml"], got["pieces"])
        except WareboardError as problem:
            form.tell(problem, "dumped_ml")
    if got["topped_ml"] is not None and got["topped_gravity"] is None:
        form.tell(
            OutOfRange("the slip topped up with", "its specific gravity is missing", "Weigh 100 ml"), "topped_gravity"
        )


def top_up(batch: GlazeBatch, lines: Sequence[BucketLine], reach: Reach | None) -> tuple[Step, ...]:
    """Slip to top up with for what is still to do, and the dry batch and water in it; nothing where it lasts."""
    still = next((line.still_to_do for line in reversed(lines) if line.still_to_do is not None), None)
    if reach is None or not still:
        return ()
    a_ml = gravity_now(batch, lines)
    # What the pieces took is held in grams of slip; the high end of the mean, so that the top-up is not short again.
    return topping(batch, still * reach.per_piece.high / a_ml, in_the_bucket(batch, lines))


def topping(batch: GlazeBatch, need_ml: float, stock_ml: float) -> tuple[Step, ...]:
    """Slip to top up with, and the dry batch and water in it at the gravity wanted; nothing where it lasts."""
    step = top_up_ml(need_ml, stock_ml, batch.dead_ml)
    if not step.value:
        return ()
    gravity, density = batch.wanted_gravity, batch.dry_density
    dry = Step(
        "dry batch in that", "volume * (slip_density - 1) * dry_density / (dry_density - 1)",
        {"volume": step.value, "slip_density": gravity, "dry_density": density},
        dry_content_g(step.value, gravity, density), "brongniart", "g",
    )  # fmt: skip
    return (step, dry, bucket(dry.value, gravity, density).steps[0])


def stirred(batch: GlazeBatch, asked: Mapping[str, str], stock_ml: float | None, gravity: float) -> dict[str, object]:
    """What another slip stirred in makes of the bucket, for its page."""
    form = Form(JOIN, asked if "join_ml" in asked else None, "join", {"join_gravity": f"{batch.wanted_gravity:g}"})
    if form.typed is None or not form.is_right:
        return {"join": form}
    try:
        there = stock_ml if stock_ml is not None else in_the_bucket(batch, ())
        joined = topped_up(there, gravity, form.values["join_ml"], form.values["join_gravity"])
    except WareboardError as problem:
        form.tell(problem, "join_ml")
        return {"join": form}
    return {"join": form, "joined": joined}
