"""The printed sheets of the glaze book, read back from their PDFs and measured on the paper."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pikepdf
import pytest

from tests.sheets.reading_pdf import pages_of, squeezed, text_of
from wareboard.glaze.recipe import Recipe, scaled
from wareboard.glaze.slip import bucket
from wareboard.sheets.glaze_book_cards import (
    BucketLabel,
    RecipeCard,
    TileLabel,
    bucket_label,
    qr_svg,
    recipe_card,
    tile_labels,
    weigh_card,
)

DAY = date(2026, 11, 25)
WHITE = Recipe(
    "Moor white", {"potash feldspar": 40, "silica / flint": 30, "whiting": 20, "kaolin": 10}, {"tin oxide": 5}
)
LABEL = BucketLabel(
    "Moor white", "batch 7, version 2", DAY, 1.45, "6", "chalk white", "satin", ("potash feldspar 400 g",),
    "no flagged oxide; not tested", (), "", "Batch 7: Moor white",
)  # fmt: skip
MANY = tuple(f"material {k} 123.4 g" for k in range(14))


def kept(folder: Path, pdf: bytes) -> Path:
    file = folder / "sheet.pdf"
    file.write_bytes(pdf)
    return file


def test_the_weighing_card_holds_every_line_and_what_the_scale_shows(tmp_path: Path) -> None:
    batch = scaled(WHITE, 1050.0)
    text = text_of(kept(tmp_path, weigh_card("Moor white", "version 2", batch, bucket(batch.dry_g, 1.45, 2.6), DAY)))
    running = 0.0
    for name, grams in (("potash feldspar", 400), ("silica / flint", 300), ("whiting", 200), ("kaolin", 100)):
        running += grams
        assert squeezed(name) in text
        assert f"{running:.1f}" in text
    assert squeezed("tin oxide (on top)") in text
    assert squeezed("1050 g") in text
    assert squeezed("within 0.02 of 1.45") in text


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_tile_labels_carry_their_codes_and_the_check_line_is_50_mm(tmp_path: Path, paper: str) -> None:
    labels = [TileLabel(f"B1-A{k}", "White to peat", (f"{k} % white",)) for k in range(1, 31)]
    file = kept(tmp_path, tile_labels("Tiles of B1", labels, DAY, paper))  # type: ignore[arg-type]
    text = text_of(file)
    for label in labels:
        assert squeezed(label.code) in text
    for page in pages_of(file):
        checks = [abs(line.x2 - line.x1) for line in page.lines if line.y1 == pytest.approx(line.y2)]
        assert any(length == pytest.approx(50.0, abs=0.05) for length in checks)


def test_the_buckets_label_is_tagged_and_says_that_it_is_not_tested(tmp_path: Path) -> None:
    pdf = bucket_label(LABEL)
    text = text_of(kept(tmp_path, pdf))
    for words in ("Moor white", "batch 7, version 2", "no flagged oxide; not tested", "enough for more", "1.45"):
        assert squeezed(words) in text, words
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert document.Root.MarkInfo.Marked
        assert len(document.pages) == 1


def test_a_very_long_label_stays_on_one_page(tmp_path: Path) -> None:
    long = BucketLabel(
        "A glaze with a name as long as anybody ever wrote on the lid of a bucket", "batch 12345, version 67", DAY, 1.45,
        "04", "chalk white with brown and a little rust on the edges", "satin, breaks", MANY,
        "holds copper: a laboratory must test fired ware before it is used for food", ("copper: lab test",),
        "; ".join(f"material {k} Invented Minerals L-{k}" for k in range(14)), "Batch 12345: a very long name " * 6,
    )  # fmt: skip
    assert len(pages_of(kept(tmp_path, bucket_label(long)))) == 1


def test_the_same_label_gives_the_same_bytes() -> None:
    assert bucket_label(LABEL) == bucket_label(LABEL)


def test_a_code_to_scan_has_its_three_finders_and_its_quiet_border() -> None:
    """Finder patterns of 7 x 7 modules stand in three corners, four modules from the edge (ISO/IEC 18004).

    Its words are not read back here: no reader of such codes is at hand.
    """
    drawn = qr_svg("Batch 7: Moor white")
    width = int(re.search(r'width="(\d+)"', drawn)[1])  # type: ignore[index]
    dark = _dark_modules(drawn)
    for left, top in ((4, 4), (width - 11, 4), (4, width - 11)):
        ring = {(left + k, top) for k in range(7)} | {(left + k, top + 6) for k in range(7)}
        core = {(left + x, top + y) for x in range(2, 5) for y in range(2, 5)}
        assert ring | core <= dark
        assert (left + 1, top + 1) not in dark
    assert all(4 <= x < width - 4 and 4 <= y < width - 4 for x, y in dark)


def _dark_modules(drawn: str) -> set[tuple[int, int]]:
    """The modules that the drawing's horizontal strokes cover."""
    path = re.search(r'stroke="#000"[^>]*d="([^"]+)"|d="([^"]+)"[^>]*stroke="#000"', drawn)
    assert path is not None
    found, x, y = set(), 0.0, 0.0
    for move, numbers in re.findall(r"([Mmh])([-\d. ]+)", path[1] or path[2]):
        values = [float(each) for each in numbers.split()]
        if move == "h":
            found |= {(int(x) + k, int(y)) for k in range(int(values[0]))}
            x += values[0]
        else:
            x, y = (values[0], values[1]) if move == "M" else (x + values[0], y + values[1])
    return found


CARD = RecipeCard(
    "Moor white", "version 2", DAY, "less silica, it crazed", "6", "chalk white", "satin",
    (("potash feldspar", "40"), ("tin oxide (on top)", "+ 5")), (("CaO", "0.735"),), ("R2O : RO 0.26 : 0.74",),
    "no flagged oxide; not tested", (), ("2026-11-20: nothing seen (crazing; Invented grey, batch 7)",),
    "https://studio.invented/glazes/recipes/7/?version=2",
)  # fmt: skip


def test_a_recipes_card_holds_its_parts_formula_and_cautions(tmp_path: Path) -> None:
    pdf = recipe_card(CARD, DAY)
    text = text_of(kept(tmp_path, pdf))
    for words in (
        "Moor white",
        "version 2",
        "potash feldspar",
        "+ 5",
        "0.735",
        "0.26 : 0.74",
        "not tested",
        "Invented grey",
    ):
        assert squeezed(words) in text, words
    assert pdf == recipe_card(CARD, DAY)
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert document.Root.MarkInfo.Marked


def test_a_very_full_card_stays_on_one_page(tmp_path: Path) -> None:
    full = replace(
        CARD, name="A glaze with a name as long as anybody ever wrote on a lid", why="why " * 40,
        flags=("copper: " + "x " * 60,) * 4,
        lines=tuple((f"a material with a long name {k}", "12.345") for k in range(14)),
        unity=tuple((f"Ox{k}", "0.123") for k in range(14)), tests=CARD.tests * 9,
    )  # fmt: skip
    assert len(pages_of(kept(tmp_path, recipe_card(full, DAY, "letter")))) == 1


def test_a_tiles_label_may_carry_a_code(tmp_path: Path) -> None:
    label = TileLabel(
        "T3", "Moor white, version 2", ("batch 7", "Invented grey"), "6", "https://studio.invented/glazes/tiles/T3/"
    )
    plain = tile_labels("Tile T3", [replace(label, scanned="")], DAY)
    coded = tile_labels("Tile T3", [label], DAY)
    text = text_of(kept(tmp_path, coded))
    for words in ("T3", "Moor white, version 2", "batch 7", "cone 6"):
        assert squeezed(words) in text, words
    assert len(coded) > len(plain)
