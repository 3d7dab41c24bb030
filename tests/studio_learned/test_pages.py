"""The pages on what was learned: plain forms that work without a script, each change undone by another."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.test import Client

from wareboard.book.learning.models import FiguresKept, HandTime, LeftOut, NewLot
from wareboard.book.models import Commission

DRIED = "/learned/figure/yield.cup.dried/"


def words(page) -> str:  # type: ignore[no-untyped-def]
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", page.content.decode())))


def test_an_empty_workshop_is_told_what_to_write_down(studio: Client) -> None:
    page = words(studio.get("/learned/"))
    assert "Nothing is recorded yet" in page
    for kind in ("wet and fired", "Move boards on", "Weigh one piece", "before and after the dip", "Read the meter"):
        assert kind in page
    assert studio.get("/learned/next-plan/").status_code == 200
    assert studio.get("/learned/figure/no.such/").status_code == 404


def test_the_list_shows_each_figure_beside_the_usual_one(studio: Client, next_one: Commission) -> None:
    page = words(studio.get("/learned/"))
    assert "Cups good after drying" in page
    assert "12 boards yours" in page
    assert "Shrinkage in height of Stoneware B" in page
    assert "5 pieces" in page


def test_a_figure_shows_prior_records_and_what_is_held_and_each_record_leads_to_its_board(
    studio: Client, next_one: Commission
) -> None:
    page = studio.get(DRIED)
    text = words(page)
    assert "Usual 97 % 93 % to 99 %" in text
    assert "Your records alone 75 %" in text  # by hand: 36 of 144 lost
    assert page.content.decode().count("<strong>83.3 %</strong> 10 of 12 good") == 4
    for address in re.findall(r'href="(/bench/[^"]+)"', page.content.decode())[:3]:
        assert studio.get(address).status_code == 200
    svg = page.content.decode().partition("<svg xmlns")[2].partition("</svg>")[0]
    assert svg.count("<circle") == 12


def test_a_record_is_left_out_with_a_reason_and_put_back(studio: Client, next_one: Commission) -> None:
    page = studio.get(DRIED).content.decode()
    record = re.findall(r'name="record" value="([^"]+)"', page)[0]
    refused = studio.post(DRIED, {"do": "leave-out", "record": record, "why": " "}, follow=True)
    assert "without a reason" in words(refused)
    left = studio.post(DRIED, {"do": "leave-out", "record": record, "why": "frost"}, follow=True)
    assert "Left out: frost" in words(left)
    assert LeftOut.objects.get().record == record
    assert "1 record left out" in words(studio.get("/learned/"))
    back = studio.post(DRIED, {"do": "put-back", "record": record}, follow=True)
    assert "Left out: frost" not in words(back)
    strange = studio.post(DRIED, {"do": "leave-out", "record": "loss/of/another", "why": "x"})
    assert strange.status_code == 404


def test_a_figure_begins_afresh_and_that_is_taken_back(studio: Client, next_one: Commission) -> None:
    wrong = studio.post(DRIED, {"do": "new-lot", "name": "", "day": "2026-11-25"})
    assert wrong.status_code == 422
    fresh = studio.post(DRIED, {"do": "new-lot", "name": "A drying cupboard", "day": "2026-11-25"}, follow=True)
    assert "Afresh from 25 November 2026: A drying cupboard" in words(fresh)
    assert "Of an earlier lot" in words(fresh)
    assert "Held now 97 %" in words(fresh)
    back = studio.post(DRIED, {"do": "no-new-lot"}, follow=True)
    assert "Afresh from" not in words(back)
    assert NewLot.objects.get().put_away is not None


def test_a_time_is_written_down_kept_put_away_and_fetched_back(studio: Client) -> None:
    typed = {"task": "minutes.handle", "pieces": "24", "minutes": "120", "person": "Ada", "day": "2026-11-24"}
    wrong = studio.post("/learned/times/", {**typed, "pieces": "-3", "minutes": "a while"})
    assert wrong.status_code == 422
    assert 'value="a while"' in wrong.content.decode()
    kept = studio.post("/learned/times/", typed, follow=True)
    assert "24 in 120 min, Ada" in words(kept)
    assert "Pull and join one handle" in words(studio.get("/learned/"))
    row = HandTime.objects.get()
    away = studio.post(f"/learned/times/{row.pk}/put-away/", follow=True)
    assert "(put away)" in words(away)
    assert "Pull and join one handle" not in words(studio.get("/learned/"))
    studio.post(f"/learned/times/{row.pk}/fetch-back/")
    assert "Pull and join one handle" in words(studio.get("/learned/"))


def test_minutes_of_two_people_are_shown_apart(studio: Client, next_one: Commission) -> None:
    page = words(studio.get("/learned/figure/minutes.handle/"))
    assert "Ada" in page
    assert "Leaning on the others" in page


def test_the_next_plan_is_shown_before_and_after(studio: Client, next_one: Commission) -> None:
    stated = next_one.paper.current
    assert stated is not None
    page = words(studio.get(f"/learned/next-plan/?commission={next_one.code}"))
    assert "both sides take that from your records" in page
    assert "shrinkage in height of Stoneware B" in page.replace("Shrinkage", "shrinkage")
    assert re.search(r"to start 3\d 4\d \+", page)
    assert "Figures from your records" in page
    type(stated).objects.filter(pk=stated.pk).update(
        text=stated.text.replace('name = "Stoneware B"', 'name = "Stoneware B"\nshrinkage = "12 %"')
    )
    page = words(studio.get(f"/learned/next-plan/?commission={next_one.code}"))
    assert "to start" in page
    assert "quote" in page
    assert "Typed, and your records differ" in page
    assert studio.get("/learned/next-plan/?commission=99-99").status_code == 404


def test_an_agreed_commission_keeps_its_figures_until_it_is_told_otherwise(
    studio: Client, next_one: Commission
) -> None:
    address = "/learned/next-plan/"
    kept = studio.post(address, {"do": "keep", "commission": next_one.code}, follow=True)
    assert "It goes by the figures of 25 November 2026" in words(kept)
    assert "Nothing that it leans on has moved since" in words(kept)
    studio.post(DRIED, {"do": "new-lot", "name": "A drying cupboard", "day": "2026-11-25"})
    apart = words(studio.get(f"{address}?commission={next_one.code}"))
    assert "Cups good after drying" in apart
    assert "the usual figure" in apart
    gone = studio.post(address, {"do": "let-go", "commission": next_one.code}, follow=True)
    assert "It goes by the figures of" not in words(gone)
    assert FiguresKept.objects.get().put_away is not None


def test_true_cost_over_reckoned_cost_is_shown_for_finished_jobs_and_not_used(
    studio: Client, next_one: Commission
) -> None:
    page = words(studio.get("/learned/figure/price.cost_ratio/"))
    assert "Not used by plans" in page
    assert "1 job" in page
    assert "were reckoned, 26-01" in page


@pytest.mark.parametrize("address", ["/learned/", DRIED, "/learned/times/", "/learned/next-plan/"])
def test_every_page_has_one_heading_and_a_name(studio: Client, next_one: Commission, address: str) -> None:
    page = studio.get(address).content.decode()
    assert page.count("<h1") == 1
    assert "<title>" in page
