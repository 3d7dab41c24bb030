"""The glaze book: versions that are never overwritten, batches and lots, what used a lot, undo."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.book_glazes.conftest import BASE, BY, DAY, RED
from wareboard.book.firings import signing
from wareboard.book.firings.models import Change
from wareboard.book.firings.recording import keep_photo
from wareboard.book.firings.signing import Signed, begin, fetch_back, put_away
from wareboard.book.glazes import rooms, writing
from wareboard.book.glazes.models import (
    BatchLine,
    BucketLine,
    FitTest,
    GlazeBatch,
    GlazeRecipe,
    Lot,
    RecipeVersion,
    ShelfMaterial,
    TestTile,
)
from wareboard.book.keeping import NothingThere
from wareboard.errors import OutOfRange, Unreadable
from wareboard.glaze.formula import analysis_wt
from wareboard.glaze.material import material

pytestmark = pytest.mark.django_db


def test_a_new_version_leaves_the_old_one_as_it_was_written(white: GlazeRecipe) -> None:
    first = white.current
    second = writing.write_version(white, BASE, RED, "redder", BY)
    white.refresh_from_db()
    assert (white.current, second.number, second.parent) == (second, 2, first)
    assert first is not None
    first.refresh_from_db()
    assert (first.base, first.additions) == ([list(line) for line in BASE], [])
    assert (second.who, second.why) == ("Ida", "redder")


def test_the_same_parts_again_are_no_new_version(white: GlazeRecipe) -> None:
    writing.write_version(white, BASE, (), "again", BY)
    assert RecipeVersion.objects.count() == 1


def test_undo_and_redo_move_between_versions_and_an_old_one_can_be_brought_back(white: GlazeRecipe) -> None:
    writing.write_version(white, BASE, RED, "redder", BY)
    recipe = signing.undo(white, BY)
    assert recipe.current is not None
    assert recipe.current.number == 1
    recipe = signing.redo(recipe, BY)
    recipe.refresh_from_db()
    assert recipe.current is not None
    assert recipe.current.number == 2
    writing.bring_back(recipe, 1, BY)
    recipe.refresh_from_db()
    assert recipe.current.number == 1
    assert RecipeVersion.objects.count() == 2
    with pytest.raises(NothingThere, match="version 9"):
        writing.bring_back(recipe, 9, BY)


def test_a_recipe_that_cannot_be_is_not_written_at_all(db: None) -> None:
    with pytest.raises(OutOfRange, match="kaolin is -1 parts"):
        writing.begin_recipe("Wrong", (("kaolin", -1.0), ("whiting", 3.0)), (), "Begun", BY)
    assert (GlazeRecipe.objects.count(), RecipeVersion.objects.count(), Change.objects.count()) == (0, 0, 0)


def test_every_writing_is_signed(white: GlazeRecipe) -> None:
    change = signing.history(white).get()
    assert (change.who, change.written, change.why, change.before) == ("Ida", BY.when, "Begun", None)


def test_a_batch_is_numbered_and_takes_its_weights_off_the_lots(bucket: GlazeBatch, lots: dict[str, Lot]) -> None:
    assert bucket.number == 1
    assert sum(line.grams for line in bucket.lines.all()) == pytest.approx(1000.0)
    lots["potash feldspar"].refresh_from_db()
    assert lots["potash feldspar"].stock_g == pytest.approx(4600.0)
    again = writing.mix(bucket.version, writing.Mixed(DAY, [writing.Weighed("kaolin", 5.0)], 1.5, 2.6), BY)
    assert again.number == 2


def test_a_line_that_weighs_nothing_stops_the_whole_batch(white: GlazeRecipe) -> None:
    assert white.current is not None
    lines = [writing.Weighed("kaolin", 5.0), writing.Weighed("whiting", 0.0)]
    with pytest.raises(OutOfRange, match="whiting is 0 g"):
        writing.mix(white.current, writing.Mixed(DAY, lines, 1.45, 2.6), BY)
    assert (GlazeBatch.objects.count(), BatchLine.objects.count()) == (0, 0)


def test_everything_that_used_a_lot_is_found(bucket: GlazeBatch, lots: dict[str, Lot], white: GlazeRecipe) -> None:
    tile = signing.begin(TestTile(code="T1", version=white.current, batch=bucket), "Made", BY)
    writing.begin_recipe("Without it", (("whiting", 100.0),), (), "Begun", BY)
    found = writing.used_by(lots["kaolin"])
    assert found.batches == (bucket,)
    assert found.recipes == (white,)
    assert found.tiles == (tile,)
    assert writing.used_by(signing.begin(Lot(material=lots["kaolin"].material, code="new"), "Bought", BY)).batches == ()


def test_a_replaced_lot_points_to_the_new_one_and_only_of_its_own_material(lots: dict[str, Lot]) -> None:
    old = lots["kaolin"]
    new = writing.replace_lot(old, Lot(material=old.material, code="K-2", price_per_kg=3.0), BY)
    old.refresh_from_db()
    assert old.replaced_by == new
    with pytest.raises(OutOfRange, match="another material"):
        writing.replace_lot(old, Lot(material=lots["whiting"].material, code="W"), BY)


def test_the_newest_price_counts(lots: dict[str, Lot]) -> None:
    assert rooms.prices()["kaolin"] == 2.5
    signing.begin(Lot(material=lots["kaolin"].material, code="K-2", day=DAY, price_per_kg=3.0), "Bought", BY)
    assert rooms.prices()["kaolin"] == 3.0


def test_an_own_analysis_comes_before_the_shipped_one_and_the_rest_of_the_table_stays(db: None) -> None:
    own = replace(material("kaolin"), oxides_wt={"SiO2": 48.0, "Al2O3": 36.0, "K2O": 2.0}, loi_share=0.14)
    writing.put_on_shelf([own], "supplier", BY)
    shelf = rooms.whole_shelf()
    assert shelf["kaolin"].oxides_wt["K2O"] == 2.0
    assert shelf["whiting"] == material("whiting")
    assert list(rooms.own_shelf()) == ["kaolin"]


def test_a_recipe_survives_being_kept(white: GlazeRecipe) -> None:
    assert white.current is not None
    kept = rooms.as_recipe(RecipeVersion.objects.get(pk=white.current.pk))
    assert dict(kept.base) == dict(BASE)
    assert sum(analysis_wt(kept, rooms.whole_shelf()).values()) == pytest.approx(100.0)


def test_putting_on_the_shelf_again_changes_the_analysis_and_can_be_undone(db: None) -> None:
    first, changed = writing.put_on_shelf([material("kaolin")], "shipped", BY)
    assert changed == 0
    own = replace(material("kaolin"), oxides_wt={"SiO2": 50.0, "Al2O3": 36.0}, loi_share=0.14)
    _, changed = writing.put_on_shelf([own], "typed", BY)
    assert changed == 1
    signing.undo(first[0], BY)
    assert rooms.as_material(ShelfMaterial.objects.get()).oxides_wt == material("kaolin").oxides_wt


def test_lots_that_are_not_all_noted_are_not_known(bucket: GlazeBatch) -> None:
    assert writing.lots_of(bucket).count(";") == 3
    BatchLine.objects.filter(material="kaolin").update(lot=None)
    assert writing.lots_of(bucket) == ""
    assert writing.lots_of(None) == ""


def test_a_photograph_is_kept_without_its_notes_and_what_is_none_is_refused(db: None) -> None:
    import io

    from PIL import Image

    out = io.BytesIO()
    noted = Image.Exif()
    noted[0x010F] = "Invented camera"
    Image.new("RGB", (8, 8), (120, 60, 20)).save(out, "JPEG", exif=noted)
    kept = keep_photo(out.getvalue(), "tile.jpg", BY)
    assert b"Invented camera" in out.getvalue()
    assert b"Invented camera" not in kept.content
    with Image.open(io.BytesIO(kept.content)) as picture:
        assert picture.size == (8, 8)
    with pytest.raises(Unreadable, match="it is text, whatever its name says"):
        keep_photo(b"not a picture", "tile.txt", BY)


def test_codes_of_tiles_and_blends_go_on_from_the_last(db: None) -> None:
    assert (writing.next_tile_code(), writing.next_stem()) == ("T1", "B1")
    signing.begin(TestTile(code="T7"), "Made", BY)
    assert writing.next_tile_code() == "T8"


def test_an_unused_bucket_put_away_gives_its_materials_back_and_takes_them_again(
    bucket: GlazeBatch, lots: dict[str, Lot], by: Signed
) -> None:
    """5000 g of feldspar less 400 g: 4600, back to 5000, and 4600 again (arithmetic)."""
    feldspar = lots["potash feldspar"]

    def stock() -> float:
        return float(Lot.objects.get(pk=feldspar.pk).stock_g or 0.0)

    assert stock() == 4600.0
    put_away(bucket, "Never mixed", by)
    assert "back in stock" in writing.settle_stock(bucket, False, by)
    assert stock() == 5000.0
    fetch_back(bucket, "After all", by)
    assert "taken off" in writing.settle_stock(bucket, True, by)
    assert stock() == 4600.0
    assert writing.settle_stock(bucket, False, by) == ""


def test_a_bucket_that_was_glazed_from_keeps_what_it_took(bucket: GlazeBatch, lots: dict[str, Lot], by: Signed) -> None:
    begin(BucketLine(batch=bucket, day=bucket.day, pieces=5), "Session", by)
    put_away(bucket, "Empty", by)
    assert "stays used" in writing.settle_stock(bucket, False, by)
    assert Lot.objects.get(pk=lots["kaolin"].pk).stock_g == 4900.0


def test_a_fit_test_of_another_bucket_is_not_said_to_have_used_a_lot(
    bucket: GlazeBatch, lots: dict[str, Lot], white: GlazeRecipe, by: Signed
) -> None:
    assert white.current is not None
    other = writing.mix(white.current, writing.Mixed(bucket.day, [writing.Weighed("kaolin", 10.0)], 1.45, 2.6), by)
    about = {"version": white.current, "day": bucket.day, "test": "crazing", "outcome": "none", "body": "grey"}
    for batch in (bucket, other, None):
        begin(FitTest(batch=batch, **about), "Tested", by)
    assert {test.batch for test in writing.used_by(lots["kaolin"]).fit_tests} == {bucket, None}
