"""Buckets: mixed from lots, their card, density, reach and pick-up, the label with its code."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.test import Client

from tests.studio_glazes.words import words
from wareboard.book.glazes.models import BucketLine, GlazeBatch, GlazeRecipe, Lot, WeighedPiece
from wareboard.book.measures.models import Measurement
from wareboard.book.measures.what import DENSITY, PICK_UP
from wareboard.studio.glazes import bucket_reckoned
from wareboard.studio.today import now
from wareboard.working import worked_out

pytestmark = pytest.mark.django_db
HERE = "/glazes/buckets/1/"
LINE = {"day": "2026-11-25", "do": "keep"}


def test_with_no_bucket_the_page_says_how_to_begin(client: Client) -> None:
    assert "No bucket is mixed yet" in words(client.get("/glazes/buckets/").content.decode())


def test_a_bucket_is_mixed_as_weighed_with_its_lots(client: Client, white: GlazeRecipe, lots: dict[str, Lot]) -> None:
    address = f"/glazes/recipes/{white.pk}/mix/?amount=1+kg"
    page = client.get(address).content.decode()
    assert 'name="g0"' in page
    assert f'<option value="{lots["potash feldspar"].pk}" selected>' in page
    rows = {"g0": "400", "g1": "300", "g2": "200", "g3": "101"} | {
        f"l{k}": str(lots[name].pk) for k, name in enumerate(("potash feldspar", "silica / flint", "whiting", "kaolin"))
    }
    about = {"day": "2026-11-25", "water_ml": "983 ml", "wanted_gravity": "1.45", "dry_density": "2.6", "dead_ml": "0"}
    client.post(address, rows | about)
    batch = GlazeBatch.objects.get()
    assert [(line.grams, line.lot) for line in batch.lines.all()][3] == (101.0, lots["kaolin"])
    answer = client.post(address, rows | about | {"g2": ""})
    assert answer.status_code == 422
    assert "whiting: its weight is missing" in words(answer.content.decode())
    assert GlazeBatch.objects.count() == 1


def test_what_was_left_out_of_a_bucket_is_told(client: Client, bucket: GlazeBatch) -> None:
    bucket.lines.filter(material="silica / flint").update(grams=150.0)
    assert "silica / flint: 150 g weighed in; the recipe asks for 255 g" in words(client.get(HERE).content.decode())


def test_water_to_thin_meets_the_worked_example(client: Client, bucket: GlazeBatch) -> None:
    """5 l from 1.60 to 1.45 take 1.67 l of water: V (now - want) / (want - 1), conservation of mass and volume."""
    line = LINE | {"weighed_g": "160 g", "weighed_ml": "100 ml", "stock_ml": "5 l"}
    client.post(f"{HERE}card/", line)
    page = words(client.get(HERE).content.decode())
    assert "Thicker than 1.45: stir water in" in page
    assert re.search(r"Gives 1666\.7 ml", page)


def test_thin_slip_is_brought_up_with_dry_or_by_settling(client: Client, bucket: GlazeBatch) -> None:
    answer = client.post(
        f"{HERE}card/", {"day": "2026-11-25", "weighed_g": "138", "weighed_ml": "100", "stock_ml": "3 l"},
        headers={"HX-Request": "true"},
    )  # fmt: skip
    page = words(answer.content.decode())
    assert "Thinner than 1.45: let it settle" in page
    assert "Dry batch to stir in" in page
    assert BucketLine.objects.count() == 0  # shown, not kept


def test_a_first_density_that_is_off_says_that_something_is_amiss(client: Client, bucket: GlazeBatch) -> None:
    expected = bucket_reckoned.expected(bucket)
    assert expected is not None
    assert worked_out(expected.formula, expected.inputs) == pytest.approx(expected.value)
    client.post(f"{HERE}card/", LINE | {"weighed_g": f"{expected.value * 100 - 5:.1f}", "weighed_ml": "100"})
    assert "something was left out or put in twice" in words(client.get(HERE).content.decode())


def test_after_five_pieces_the_card_says_how_many_more(client: Client, bucket: GlazeBatch) -> None:
    """4000 ml less 200 for five pieces; 300 ml dead: (3800 - 300) / 40 = 87 by hand."""
    client.post(f"{HERE}card/", LINE | {"stock_ml": "4 l"})
    client.post(f"{HERE}card/", LINE | {"stock_ml": "3.8 l", "pieces": "5", "form": "cup", "still_to_do": "30"})
    page = words(client.get(HERE).content.decode())
    assert "87 more" in page
    assert "30 are still to do: it should last" in page
    assert "5 cup" in page


def test_pieces_weighed_singly_give_their_own_spread(client: Client, bucket: GlazeBatch) -> None:
    client.post(f"{HERE}card/", LINE | {"stock_ml": "3.8 l", "each_took_ml": "38 42 40 41 39"})
    reach, _ = bucket_reckoned.further(bucket, list(bucket.card.all()))
    assert reach is not None
    assert reach.more == 87
    assert reach.low < 87 < reach.high


def test_water_stirred_in_between_is_not_taken_for_glaze_that_came_back(client: Client, bucket: GlazeBatch) -> None:
    """1000 ml, 100 of water in, 900 left after 4 pieces: 200 ml, 50 each; (900 - 300) / 50 = 12 by hand."""
    client.post(f"{HERE}card/", LINE | {"stock_ml": "1 l"})
    client.post(f"{HERE}card/", LINE | {"stock_ml": "900 ml", "water_added_ml": "100 ml", "pieces": "4"})
    reach, _ = bucket_reckoned.further(bucket, list(bucket.card.all()))
    assert reach is not None
    assert reach.more == 12


def test_an_empty_line_is_not_put_on_the_card(client: Client, bucket: GlazeBatch) -> None:
    answer = client.post(f"{HERE}card/", LINE)
    assert "it says nothing yet" in words(answer.content.decode())
    assert BucketLine.objects.count() == 0


def test_pick_up_follows_the_own_weighings_by_the_root_of_the_dwell(client: Client, bucket: GlazeBatch) -> None:
    """Pieces laid out on 0.03 * sqrt(dwell) g/cm2 over 100 cm2, so that 4 s must come to 0.06 (filter-cake law)."""
    page = words(client.get(HERE).content.decode())
    assert "Usual pick-up" in page
    for dwell, took in ((1, 3.02), (2, 4.20), (3, 5.22), (5, 6.67), (6, 7.36)):
        piece = {"day": "2026-11-25", "dwell_s": f"{dwell} s", "before_g": "200", "after_g": f"{200 + took}",
                 "area_mm2": "100", "gravity": "1.45"}  # fmt: skip
        client.post(f"{HERE}pieces/", piece)
    assert WeighedPiece.objects.count() == 5
    laid = bucket_reckoned.laid(bucket, 4.0, 1.45)
    assert laid.layer is not None
    assert laid.layer.value == pytest.approx(0.06, rel=0.01)
    assert laid.layer.low < 0.06 < laid.layer.high
    assert laid.thick is not None
    for step in laid.thick.steps:
        assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)
    assert "From 5 of your own weighings" in words(client.get(HERE, {"dwell": "4 s"}).content.decode())
    assert "the weighings run from 1 to 6 s" in words(client.get(HERE, {"dwell": "60 s"}).content.decode())


def test_a_piece_that_is_no_heavier_is_refused(client: Client, bucket: GlazeBatch) -> None:
    piece = {
        "day": "2026-11-25",
        "dwell_s": "3",
        "before_g": "200",
        "after_g": "199",
        "area_mm2": "100",
        "gravity": "1.45",
    }
    answer = client.post(f"{HERE}pieces/", piece)
    assert "a glazed piece is heavier" in words(answer.content.decode())


def test_the_label_is_a_page_and_the_weighing_card_too(client: Client, bucket: GlazeBatch, white: GlazeRecipe) -> None:
    for address in (f"{HERE}label.pdf", f"/glazes/recipes/{white.pk}/weigh-out.pdf?amount=3+kg"):
        answer = client.get(address)
        assert answer["Content-Type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF")


def test_a_line_put_away_no_longer_counts(client: Client, bucket: GlazeBatch) -> None:
    client.post(f"{HERE}card/", LINE | {"stock_ml": "4 l"})
    line = BucketLine.objects.get()
    client.post(f"/glazes/move/line/{line.pk}/put-away/", {"back": HERE})
    assert bucket_reckoned.further(bucket, list(bucket.card.filter(put_away=None)))[0] is None


def test_what_is_dumped_back_does_not_count_as_used(client: Client, bucket: GlazeBatch) -> None:
    """Arithmetic: 3000 ml poured into ten, 2600 back: 40 ml each; 2300 ml less 300 dead does 50 more."""
    line = LINE | {"stock_ml": "2300 ml", "pieces": "10", "poured_ml": "3 l", "dumped_ml": "2600 ml"}
    client.post(f"{HERE}card/", line)
    page = words(client.get(HERE).content.decode())
    assert "This bucket does 50 more" in page
    assert "Slip one piece kept" in page
    assert "3000 ml poured, 2600 back" in page


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"poured_ml": "3 l"}, "go together"),
        ({"poured_ml": "3 l", "dumped_ml": "2 l"}, "how many pieces it was poured into is missing"),
        ({"poured_ml": "2 l", "dumped_ml": "3 l", "pieces": "4"}, "ware keeps some of it"),
        ({"topped_ml": "1 l"}, "its specific gravity is missing"),
    ],
)
def test_a_liner_that_cannot_be_is_refused(
    client: Client, bucket: GlazeBatch, typed: dict[str, str], told: str
) -> None:
    answer = client.post(f"{HERE}card/", LINE | typed)
    assert answer.status_code == 422
    assert told in words(answer.content.decode())
    assert not BucketLine.objects.exists()


def test_another_slip_stirred_in_is_told_by_its_mass_and_volume(client: Client, bucket: GlazeBatch) -> None:
    """1000 ml at 1.45 and 1000 ml at 1.55 are 2000 ml at 1.50 (conservation of mass)."""
    client.post(f"{HERE}card/", LINE | {"weighed_g": "145", "weighed_ml": "100", "stock_ml": "1 l"})
    page = words(client.get(HERE, {"join_ml": "1 l", "join_gravity": "1.55"}).content.decode())
    assert re.search(r"Specific gravity after stirring 1\.5", page)
    assert "no lighter than water" in words(
        client.get(HERE, {"join_ml": "1 l", "join_gravity": "0.9"}).content.decode()
    )


def test_a_bucket_that_will_not_do_says_what_to_top_up_with(client: Client, bucket: GlazeBatch) -> None:
    """Arithmetic: 20 at 40 ml and 300 dead are 1100; 700 there: 400 to top up with, all five alike."""
    line = LINE | {"stock_ml": "700 ml", "pieces": "5", "each_took_ml": "40 40 40 40 40", "still_to_do": "20"}
    client.post(f"{HERE}card/", line)
    page = words(client.get(HERE).content.decode())
    assert re.search(r"Slip to top up with 400", page)
    assert "Dry batch in that" in page


def test_pick_ups_measured_at_the_bench_count_with_those_weighed_here(client: Client, bucket: GlazeBatch) -> None:
    """Four pieces by root of the dwell: 0.05 g/cm2 in 4 s; every one on 200 cm2 (filter-cake law)."""
    for number, dwell in enumerate((1.0, 2.0, 4.0, 8.0)):
        Measurement.objects.create(
            key=f"k{number}", what=PICK_UP, value=200.0 * 0.025 * dwell**0.5, dwell_s=dwell, gravity=1.45,
            area_mm2=20_000.0, batch=bucket, happened=now(), written=now(),
        )  # fmt: skip
    found = bucket_reckoned.laid(bucket, 4.0, 1.45)
    assert found.layer is not None
    assert found.layer.value == pytest.approx(0.05)
    assert "From 4 of your own weighings" in words(client.get(HERE).content.decode())


def test_a_density_of_the_bench_counts_until_the_card_is_written_again(client: Client, bucket: GlazeBatch) -> None:
    """5 l from 1.60 to 1.45 take 1.67 l of water, whoever measured the 1.60; then the card says 1.45."""
    client.post(f"{HERE}card/", LINE | {"weighed_g": "145", "weighed_ml": "100", "stock_ml": "5 l"})
    later = now() + timedelta(hours=1)
    Measurement.objects.create(
        key="d", what=DENSITY, value=1.6, batch=bucket, happened=later, written=later
    )  # fmt: skip
    page = words(client.get(HERE).content.decode())
    assert "Measured at the bench on" in page
    assert re.search(r"Gives 1666\.7 ml", page)
    Measurement.objects.update(happened=later - timedelta(hours=2))
    assert "It is at 1.45, as wanted" in words(client.get(HERE).content.decode())


def test_a_line_of_what_the_page_filled_in_alone_is_not_kept(client: Client, bucket: GlazeBatch) -> None:
    answer = client.post(f"{HERE}card/", LINE | {"cone": "6", "commission_code": "26-01"})
    assert answer.status_code == 422
    assert "it says nothing yet" in words(answer.content.decode())
    assert not BucketLine.objects.exists()
