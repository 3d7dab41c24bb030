"""What to weigh out of a recipe, for a weight or for a bucket's volume, on the scales that are there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from wareboard.errors import WareboardError
from wareboard.given import positive
from wareboard.glaze.recipe import Batch, Recipe, scaled
from wareboard.glaze.slip import Bucket, bucket, dry_content_g
from wareboard.reference import default
from wareboard.studio.glazes.boxes import Box, Form, grams, positive_number, weight_or_volume
from wareboard.working import Step

BOXES = (
    Box(
        "amount",
        "How much",
        weight_or_volume,
        help="dry weight, or volume of slip",
        example="3 kg, or 5 l",
        first="1 kg",
    ),
    Box("gravity", "Specific gravity", positive_number, help="weight of a known volume, over the volume"),
    Box("density", "Density of the powder, g/ml", positive_number),
    Box("scale", "Scale reads to", grams, first="1 g"),
    Box("fine", "Fine scale reads to", grams, first="0.1 g", help="for small lines; the same if there is one scale"),
)


@dataclass(frozen=True, slots=True)
class WeighOut:
    """The form, and what to weigh where it could be worked out."""

    form: Form
    batch: Batch | None = None
    bucket: Bucket | None = None
    lines: tuple[tuple[object, Step | None], ...] = ()
    dry: Step | None = None
    query: str = ""


def figures() -> dict[str, float]:
    """The usual density of a slip and of its powder."""
    return {
        "gravity": default("glaze.specific_gravity").value,
        "density": default("glaze.dry_density_g_per_ml").value,
    }


def weigh_out(recipe: Recipe, asked: Mapping[str, str]) -> WeighOut:
    """What to weigh for what was asked; what is wrong stands in the form."""
    first = {name: f"{value:g}" for name, value in figures().items()}
    typed = {box.name: asked.get(box.name) or first.get(box.name, box.first) for box in BOXES}
    form = Form(BOXES, typed, "weigh")
    if not form.is_right:
        return WeighOut(form)
    got = form.values
    try:
        unit, amount = got["amount"]
        volume = Step(
            "dry glaze in the volume wanted",
            "volume * (slip_density - 1) * dry_density / (dry_density - 1)",
            {"volume": amount, "slip_density": got["gravity"], "dry_density": got["density"]},
            dry_content_g(amount, got["gravity"], got["density"]), "brongniart", "g",
        ) if unit == "ml" else None  # fmt: skip
        dry_g = positive(volume.value if volume else amount, "dry glaze wanted", "g")
        batch = scaled(recipe, dry_g, scale_step_g=got["scale"], fine_step_g=got["fine"])
        held = bucket(batch.dry_g, got["gravity"], got["density"])
    except WareboardError as problem:
        form.tell(problem, "amount")
        return WeighOut(form)
    from urllib.parse import urlencode

    named = {step.name.removeprefix("addition, on top: "): step for step in batch.steps}
    lines = tuple((line, named.get(line.material)) for line in batch.lines)
    return WeighOut(form, batch, held, lines, volume, urlencode(typed))
