"""Sheets of the glaze book: labels for tiles and buckets with codes to scan, cards of recipes and to weigh out by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from wareboard.glaze.recipe import Batch
from wareboard.glaze.slip import Bucket
from wareboard.quantities import show_day
from wareboard.sheets.typesetting import TYPST_PAPER, Paper, typeset
from wareboard.working import Step

QR_MM = 30.0
TILE_QR_MM = 19.0
MOST_SHARES = 4
MOST_TESTS = 6


@dataclass(frozen=True, slots=True)
class TileLabel:
    """What one tile's label says: its code, what is on it, and what is in that."""

    code: str
    name: str
    shares: tuple[str, ...] = ()
    cone: str = ""
    scanned: str = ""


@dataclass(frozen=True, slots=True)
class RecipeCard:
    """What a recipe's card says; ``lines`` and ``unity`` are pairs of words, ``scanned`` the text of its code."""

    name: str
    version: str
    written: date
    why: str
    cone: str
    colour: str
    surface: str
    lines: tuple[tuple[str, str], ...]
    unity: tuple[tuple[str, str], ...]
    figures: tuple[str, ...]
    verdict: str
    flags: tuple[str, ...]
    tests: tuple[str, ...]
    scanned: str


@dataclass(frozen=True, slots=True)
class BucketLabel:
    """What a bucket's label says; ``scanned`` is the text of its code."""

    name: str
    batch: str
    mixed: date
    gravity: float
    cone: str
    colour: str
    surface: str
    materials: tuple[str, ...]
    verdict: str
    flags: tuple[str, ...]
    lots: str
    scanned: str


def tile_labels(title: str, labels: Sequence[TileLabel], day: date, paper: Paper = "a4") -> bytes:
    """A sheet of labels to cut out, 58 x 30 mm, one a tile."""
    data = _head(title, day, paper) | {
        "qr_mm": TILE_QR_MM,
        "labels": [
            {
                "code": each.code, "name": each.name, "shares": list(each.shares[:MOST_SHARES]), "cone": each.cone,
                "qr": qr_svg(each.scanned) if each.scanned else "", "scanned": each.scanned,
            }
            for each in labels
        ],
    }  # fmt: skip
    return typeset("glaze_book_tiles", data, day)


def recipe_card(card: RecipeCard, day: date, paper: Paper = "a4") -> bytes:
    """The card of one version of a recipe, 180 mm wide, to cut out and keep."""
    data = _head(card.name, day, paper) | {
        "name": card.name, "version": card.version, "written": show_day(card.written), "why": card.why, "cone": card.cone,
        "colour": card.colour, "surface": card.surface, "lines": [list(each) for each in card.lines],
        "unity": [list(each) for each in card.unity], "figures": list(card.figures), "verdict": card.verdict,
        "flags": list(card.flags), "tests": list(card.tests[:MOST_TESTS]), "qr": qr_svg(card.scanned), "qr_mm": QR_MM,
        "scanned": card.scanned,
    }  # fmt: skip
    return typeset("glaze_book_recipe", data, day)


def bucket_label(label: BucketLabel, paper: Paper = "a4") -> bytes:
    """The label of a bucket, 180 x 130 mm, with lines to fill in by pencil for each session."""
    data = _head(label.name, label.mixed, paper) | {
        "name": label.name,
        "batch": label.batch,
        "mixed": show_day(label.mixed),
        "gravity": f"{label.gravity:.2f}",
        "cone": label.cone,
        "colour": label.colour,
        "surface": label.surface,
        "materials": list(label.materials),
        "verdict": label.verdict,
        "flags": list(label.flags),
        "lots": label.lots,
        "qr": qr_svg(label.scanned),
        "qr_mm": QR_MM,
        "scanned": label.scanned,
    }
    return typeset("glaze_book_bucket", data, label.mixed)


def weigh_card(name: str, version: str, batch: Batch, bucket: Bucket, day: date, paper: Paper = "a4") -> bytes:
    """The card to weigh out by: a box to tick for each line when it is in, and what the scale shows then."""
    data = _head(name, day, paper) | {
        "name": name,
        "version": version,
        "lines": [
            [
                f"{line.material} (on top)" if line.is_addition else line.material,
                _grams(line.grams, line.scale_step_g),
                _grams(line.running_total_g, min(each.scale_step_g for each in batch.lines)),
            ]
            for line in batch.lines
        ],
        "dry": f"{batch.dry_g:.0f} g",
        "water": f"{bucket.water_ml:.0f} ml",
        "slip": f"{bucket.volume_ml:.0f} ml",
        "gravity": f"{bucket.specific_gravity:.2f}",
        "notes": list(batch.notes),
        "working": [_reached(step) for step in bucket.steps],
    }
    return typeset("glaze_book_weigh", data, day)


def qr_svg(words: str) -> str:
    """A code to scan that holds ``words``, as SVG with a quiet border of four modules.

    Source: ISO/IEC 18004, drawn by the segno library; error correction M.
    """
    import segno

    drawn: str = segno.make(words, error="m", micro=False).svg_inline(scale=1, border=4, dark="#000", light="#fff")
    return drawn.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1) if "xmlns=" not in drawn else drawn


def _head(title: str, day: date, paper: Paper) -> dict[str, Any]:
    return {"title": title, "commission": "glaze book", "due": show_day(day), "invented": False,
            "foot": f"Wareboard · {title}", "paper": TYPST_PAPER[paper]}  # fmt: skip


def _grams(grams: float, step_g: float) -> str:
    """A weight to the places that the scale shows."""
    places = max(0, len(f"{step_g:.6f}".rstrip("0").partition(".")[2]))
    return f"{grams:.{places}f}"


def _reached(step: Step) -> str:
    inputs = ", ".join(f"{name.replace('_', ' ')} {value:.5g}" for name, value in step.inputs.items())
    return f"{step.name} = {step.formula.replace('_', ' ')} = {step.value:.0f} {step.unit} [{inputs}]"
