"""Loads arranged by hand: the plan's own places are sound, what stands in the way is told, and all of it can be undone."""

from __future__ import annotations

import io
import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from django.test import Client
from shapely.geometry import LineString, Point

from tests.studio_kilns.conftest import CUPS
from wareboard.book import keeping
from wareboard.book.firings.models import Firing, Kiln, MovedLoad
from wareboard.book.models import Commission
from wareboard.kiln.inside import KilnInside, Load, LoadPiece
from wareboard.kiln.load import HalfRoundShelf, OctagonalShelf, RectangularShelf, RoundShelf, plan_loads
from wareboard.sheets.firing_shelf import scale_for, shelf_pdf
from wareboard.sheets.kiln_sheets import shelf_sheet
from wareboard.studio.kilns.arrangement import faults, made_from, moved, names, places, shapes
from wareboard.studio.kilns.planned_load import arranged_plan, planned_load
from wareboard.studio.today import now

LETTERS = {"cup": "A", "bowl": "B"}
ADDRESS = "/kilns/load/26-01/glaze/1/"


def planned(shelf: object, kind: str = "glaze", halves: bool = False) -> tuple[Load, KilnInside, float]:
    pieces = [
        LoadPiece("cup", 20, 90.0, 100.0, handle_reach_mm=35.0, handle_width_mm=18.0),
        LoadPiece("bowl", 7, 130.0, 60.0, nests=True),
    ]
    plan = plan_loads(pieces, KilnInside(shelf, 600.0, halves=halves), kind)  # type: ignore[arg-type]
    return plan.loads[0], plan.kiln, plan.gap_mm


@pytest.mark.parametrize("kind", ["glaze", "bisque"])
@pytest.mark.parametrize("shelf", [RoundShelf(480.0), RectangularShelf(400.0, 500.0), OctagonalShelf(470.0)])
def test_the_plans_own_places_are_sound(shelf: object, kind: str) -> None:
    load, inside, gap = planned(shelf, kind)
    assert faults(load, inside, gap, LETTERS) == []
    rounded = tuple(moved(layout, places(layout)) for layout in load)
    assert faults(rounded, inside, gap, LETTERS) == []


def test_half_shelves_are_sound_too() -> None:
    load, inside, gap = planned(RoundShelf(560.0), halves=True)
    assert isinstance(load[0].shelf, HalfRoundShelf)
    assert faults(load, inside, gap, LETTERS) == []


def test_two_round_pieces_are_told_by_the_distance_of_their_middles() -> None:
    """Closed form: the gap between two discs is the distance of their middles less both radii."""
    load, inside, gap = planned(RectangularShelf(2000.0, 2000.0))
    layout = replace(
        load[0],
        forms=("bowl", "bowl"),
        centres_mm=np.array([(0.0, 0.0), (134.0, 0.0)]),
        diameters_mm=np.full(2, 130.0),
        heights_mm=np.full(2, 60.0),
        stacked=np.ones(2, dtype=np.int64),
        handle_angles_deg=np.zeros(2),
        handle_reach_mm=np.zeros(2),
        handle_width_mm=np.zeros(2),
    )
    told = {}
    for x in (140.0, 134.0, 120.0):
        here = moved(layout, [(0.0, 0.0, 0.0), (x, 0.0, 0.0)])
        told[x] = [(each.words, each.hard) for each in faults((here,), inside, gap, LETTERS)]
    assert told == {
        140.0: [],
        134.0: [("B2 is 4.0 mm from B1; 6 mm is kept", False)],
        120.0: [("B2 stands 10 mm in B1", True)],
    }


def test_pieces_that_stand_in_one_another_are_those_that_shapely_finds() -> None:
    """Against shapely, a general library: bodies as circles, straps as lines with a round end, at random places.

    The room's discs cover the strap and stand at most 4 % wider, so what shapely finds is found, and what is found beyond
    that is within 4 % of the strap's width.
    """
    load, inside, gap = planned(RoundShelf(480.0))
    layout, luck = load[0], np.random.default_rng(7)
    for _ in range(20):
        count = len(layout.forms)
        spots = np.column_stack((luck.uniform(-160, 160, (count, 2)), luck.uniform(0, 360, count)))
        here = moved(layout, [tuple(spot) for spot in spots])
        found = {
            each.words for each in faults((here,), inside, gap, LETTERS) if re.search(r"stands \d+ mm in A", each.words)
        }
        pairs = {(each.split(" ")[0], each.split(" ")[-1]) for each in found}
        named, outlines = names(here, LETTERS), [outline(here, i) for i in range(count)]
        for i in range(count):
            for j in range(i):
                into = outlines[i].intersection(outlines[j])
                if into.area > 3.0:
                    assert (named[i], named[j]) in pairs
                elif outlines[i].distance(outlines[j]) > 0.04 * 18.0:
                    assert (named[i], named[j]) not in pairs


def outline(layout, i: int):  # type: ignore[no-untyped-def]
    x, y = layout.centres_mm[i]
    body, strap = layout.diameters_mm[i] / 2.0, layout.handle_width_mm[i] / 2.0
    shape = Point(x, y).buffer(body, 64)
    if layout.handle_reach_mm[i] <= 0.0:
        return shape
    turn, tip = np.radians(layout.handle_angles_deg[i]), body + layout.handle_reach_mm[i] - strap
    return shape.union(LineString([(x, y), (x + tip * np.cos(turn), y + tip * np.sin(turn))]).buffer(strap, 64))


def test_over_the_edge_in_a_post_and_too_near_a_post_are_told_apart() -> None:
    load, inside, gap = planned(RoundShelf(480.0))
    layout, at = load[0], places(load[0])
    post = layout.posts[0]
    over = moved(layout, [(300.0, 0.0, 0.0), *at[1:]])
    assert any(each.hard and "over the edge" in each.words for each in faults((over,), inside, gap, LETTERS))
    into = moved(layout, [(post.x_mm, post.y_mm, at[0][2]), *at[1:]])
    assert any(
        each.hard and re.search(r"stands \d+ mm in the post", each.words)
        for each in faults((into,), inside, gap, LETTERS)
    )


def test_the_print_of_a_load_is_of_its_pieces_and_not_of_their_places() -> None:
    load, _, _ = planned(RoundShelf(480.0))
    other = (moved(load[0], [(x + 1.0, y, a) for x, y, a in places(load[0])]), *load[1:])
    assert made_from(load) == made_from(other)
    assert made_from(load) != made_from(load[:-1])
    assert len(shapes(load[0])) == len(load[0].forms)


def boxes_on(page: str) -> dict[str, str]:
    return dict(re.findall(r'name="([xya]-(?:\d+|e)-\d+)" value="([^"]*)"', page))


def test_a_piece_moved_is_kept_shown_printed_and_undone(client: Client, cups: Commission) -> None:
    page = client.get(ADDRESS).content.decode()
    boxes = boxes_on(page)
    boxes["y-3-0"] = f"{float(boxes['y-3-0']) + 0.1:.1f}"  # too little to come nearer than the rule
    response = client.post(ADDRESS, {**boxes, "do": "keep"})
    assert response.status_code == 302
    page = client.get(ADDRESS).content.decode()
    assert "arranged by hand" in page
    assert boxes_on(page)["y-3-0"] == boxes["y-3-0"]
    pdf = client.get(f"{ADDRESS}map.pdf")
    with pikepdf.open(io.BytesIO(pdf.content)) as opened:
        assert len(opened.pages) == page.count('class="shelf-plot"') + 1  # and the load from the side
    client.post(f"{ADDRESS}undo/")
    assert "as planned" in client.get(ADDRESS).content.decode()
    client.post(f"{ADDRESS}redo/")
    assert boxes_on(client.get(ADDRESS).content.decode())["y-3-0"] == boxes["y-3-0"]
    client.post(f"{ADDRESS}to-the-plan/")
    assert "as planned" in client.get(ADDRESS).content.decode()
    assert MovedLoad.objects.count() == 1


def test_a_piece_in_another_is_refused_and_what_was_moved_stays(client: Client, cups: Commission) -> None:
    boxes = boxes_on(client.get(ADDRESS).content.decode())
    boxes["x-0-1"], boxes["y-0-1"] = boxes["x-0-0"], boxes["y-0-0"]
    for do in ("keep", "keep-anyway"):
        response = client.post(ADDRESS, {**boxes, "do": do})
        page = response.content.decode()
        assert response.status_code == 422
        assert re.search(r"A2 stands \d+ mm in A1", page)
        assert boxes_on(page)["x-0-1"] == boxes["x-0-0"]
        assert "touching" in page
    assert not MovedLoad.objects.exists()


def test_a_piece_that_is_only_too_near_is_kept_when_asked_again(client: Client, cups: Commission) -> None:
    page = client.get(ADDRESS).content.decode()
    boxes = boxes_on(page)
    middle = min(range(9), key=lambda i: abs(float(boxes[f"x-0-{i}"])) + abs(float(boxes[f"y-0-{i}"])))
    told = ""
    for x, y in ((2, 0), (-2, 0), (0, 2), (0, -2)):
        tried = boxes | {
            f"x-0-{middle}": f"{float(boxes[f'x-0-{middle}']) + x:.1f}",
            f"y-0-{middle}": f"{float(boxes[f'y-0-{middle}']) + y:.1f}",
        }
        told = client.post(ADDRESS, {**tried, "do": "keep"}).content.decode()
        if "mm is kept" in told and "Keep it, near as it is" in told:
            break
    assert "Keep it, near as it is" in told
    assert client.post(ADDRESS, {**tried, "do": "keep-anyway"}).status_code == 302


@pytest.mark.parametrize(
    ("written", "words"), [("NaN", "not a finite number"), ("far", "not a number"), ("9e9", "no shelf")]
)
def test_a_place_that_is_no_number_is_told_and_stays(
    client: Client, cups: Commission, written: str, words: str
) -> None:
    boxes = boxes_on(client.get(ADDRESS).content.decode()) | {"x-0-0": written}
    response = client.post(ADDRESS, {**boxes, "do": "keep"})
    assert response.status_code == 422
    assert words in response.content.decode()
    assert f'value="{written}"' in response.content.decode()


def test_when_the_plan_changes_the_plans_places_are_shown_and_the_arrangement_is_kept(
    client: Client, cups: Commission
) -> None:
    boxes = boxes_on(client.get(ADDRESS).content.decode())
    client.post(ADDRESS, {**boxes, "do": "keep"})
    wider = CUPS.replace("84 mm", "100 mm")
    keeping.write(cups.paper, wider, seen=None, why="Wider", who="", when=now())
    assert "The plan has changed since" in client.get(ADDRESS).content.decode()
    assert MovedLoad.objects.get().put_away is None


def test_a_piece_larger_than_the_shelf_is_told_in_words(client: Client, cups: Commission) -> None:
    keeping.write(cups.paper, CUPS.replace("150 mm", "900 mm"), seen=None, why="Wide", who="", when=now())
    page = client.get(ADDRESS).content.decode()
    assert "No load to arrange yet" in page
    assert "Bowl" in page
    assert client.get(f"{ADDRESS}map.pdf").status_code == 404


def test_a_load_that_the_plan_has_not_is_no_page(client: Client, cups: Commission) -> None:
    for address in ("/kilns/load/26-01/glaze/99/", "/kilns/load/26-01/raku/1/", "/kilns/load/26-99/glaze/1/"):
        assert client.get(address).status_code == 404
    assert client.post(f"{ADDRESS}undo/").status_code == 404


def test_the_page_is_handed_the_same_measures_as_the_server_has(client: Client, cups: Commission) -> None:
    page = client.get(ADDRESS).content.decode()
    found = re.search(r'<script id="measures" type="application/json">(.*?)</script>', page)
    assert found is not None
    told = json.loads(found[1])
    assert told["gap"] == 6.0
    assert told["shelves"][0]["radius"] == pytest.approx(230.0)
    assert len(told["pieces"][0]["out"]) == 5


def test_a_map_is_true_to_its_scale() -> None:
    """The shelf's own diameter over the scale is what the circle of its edge measures on the page."""
    load, _, _ = planned(RoundShelf(480.0))
    scale = scale_for(load, "a4")
    from wareboard.kiln.shelf_map import shelf_svg

    svg = shelf_svg(load[0], scale=1.0 / scale)
    wide_mm = float(re.search(r'width="([\d.]+)mm"', svg)[1])  # type: ignore[index]
    box = re.search(r'viewBox="[-\d.]+ [-\d.]+ ([\d.]+) ', svg)
    radius = re.search(r'<circle cx="0" cy="0" r="([\d.]+)"', svg)
    assert box is not None
    assert radius is not None
    assert 2.0 * float(radius[1]) * wide_mm / float(box[1]) == pytest.approx(480.0 / scale, rel=1e-4)


def test_a_map_on_letter_paper_is_a_page_for_each_shelf() -> None:
    from datetime import date

    load, _, _ = planned(RoundShelf(480.0))
    pdf = shelf_pdf(
        load, ["cup", "bowl"], "Invented kiln", "Invented, glaze load 1", "26-01", date(2027, 2, 12), "letter"
    )
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        assert len(opened.pages) == len(load)


def test_the_kilns_page_leads_to_the_loads_of_commissions_in_hand(client: Client, cups: Commission) -> None:
    assert f'href="{ADDRESS}"' in client.get("/kilns/").content.decode()
    keeping.put_away(cups, now())
    assert f'href="{ADDRESS}"' not in client.get("/kilns/").content.decode()


def test_a_piece_is_taken_out_put_on_another_shelf_and_a_test_fills_the_gap(client: Client, cups: Commission) -> None:
    page = client.get(ADDRESS).content.decode()
    boxes = boxes_on(page) | {"s-0-1": "-1"}
    assert client.post(ADDRESS, {**boxes, "do": "keep"}).status_code == 302
    page = client.get(ADDRESS).content.decode()
    assert "A2 Cup" in page or "A2<span" in page
    assert MovedLoad.objects.get().places[0][1][0] == -1
    asked = {"add-from": "size", "add-name": "Test", "add-across": "40 mm", "add-height": "50 mm", "add-count": "1"}
    page = client.post(ADDRESS, {**boxes_on(page), **asked, "extra": "[]", "do": "add"}).content.decode()
    assert "1 added in the gaps" in page


def sheet(client: Client) -> bytes:
    client.get("/commissions/26-01/sheets/")
    return b"".join(client.get("/commissions/26-01/sheets/shelf-plans.pdf").streaming_content)  # type: ignore[attr-defined]


def test_the_dossiers_shelf_plans_are_written_anew_with_what_stands_by_hand(client: Client, cups: Commission) -> None:
    before = sheet(client)
    boxes = boxes_on(client.get(ADDRESS).content.decode()) | {"s-0-1": "-1"}
    client.post(ADDRESS, {**boxes, "do": "keep"})
    assert sheet(client) != before
    here = planned_load("26-01", "glaze", 1)
    stood, told = arranged_plan(cups, here.plan)
    plain, by_hand = (
        next(each for each in shelf_sheet(plan, "a4", words)["firings"] if each["kind"] == "Glaze")["loads"]
        for plan, words in ((here.plan, None), (stood, told))
    )
    assert [each["told"] for each in plain] == [""] * len(plain)
    assert by_hand[0]["told"].startswith("Arranged by hand")
    assert "Not loaded: 1 ×" in by_hand[0]["told"]
    assert by_hand[0]["pieces"] == plain[0]["pieces"] - 1
    client.post(f"{ADDRESS}to-the-plan/")
    assert sheet(client) == before


def test_an_arrangement_made_meanwhile_is_told_and_not_written_over(client: Client, cups: Commission) -> None:
    boxes = boxes_on(client.get(ADDRESS).content.decode())
    client.post(ADDRESS, {**boxes, "do": "keep", "seen": "0"})
    response = client.post(ADDRESS, {**boxes, "do": "keep", "seen": "0"})
    assert response.status_code == 409
    assert "arranged in another window" in response.content.decode()


def test_a_load_past_the_last_leads_to_those_there_are(client: Client, cups: Commission) -> None:
    told = client.get("/kilns/load/26-01/glaze/99/")
    shown = told.content.decode()
    assert told.status_code == 404
    assert "No glaze load 99" in shown
    assert f'href="{ADDRESS}"' in shown


def test_nothing_planned_is_an_empty_page(client: Client, cups: Commission, monkeypatch: pytest.MonkeyPatch) -> None:
    from wareboard.studio.kilns import planned_load as module

    real = module.firing_of

    def none_of(plan: object, kind: str) -> object:
        firing = real(plan, kind)  # type: ignore[arg-type]
        return firing and replace(firing, loads=replace(firing.loads, loads=(), firings=0))

    monkeypatch.setattr(module, "firing_of", none_of)
    told = client.get(ADDRESS)
    assert told.status_code == 200
    assert "no piece goes into one" in told.content.decode()


def test_a_loads_firing_is_recorded_from_its_page_with_its_number(client: Client, cups: Commission) -> None:
    from html import unescape

    link = re.search(r'href="([^"]+)">Record its firing', client.get(ADDRESS).content.decode())
    assert link is not None
    place = unescape(link[1])
    page = client.get(place).content.decode()
    assert re.search(r'name="load_number" value="1"', page)
    sent = {"kind": "glaze", "cone": "6", "form": "self-supporting", "day": "2026-11-25"}
    client.post(place, {**sent, "load_number": "1", "commission_code": "26-01"})
    kept = Firing.objects.get()
    assert (kept.commission_code, kept.load_number) == ("26-01", 1)
    shown = client.get(f"/kilns/{kept.kiln.slug}/firings/1/").content.decode()
    assert f'href="{ADDRESS}">load 1' in shown
    refused = client.post(place, {**sent, "load_number": "1", "commission_code": ""})
    assert refused.status_code == 422
    assert "A load is of a commission" in refused.content.decode()


def test_a_load_that_the_plan_has_not_is_asked_about_and_kept_when_it_is_meant(
    client: Client, cups: Commission, kiln: Kiln
) -> None:
    has = planned_load("26-01", "glaze", 1).firing.firings
    place = "/kilns/old-round-kiln/firings/new/"
    sent = {"kind": "glaze", "cone": "6", "form": "self-supporting", "day": "2026-11-25", "commission_code": "26-01"}
    sent |= {"load_number": str(has + 4), "notes": "Lid left ajar"}
    told = client.post(place, sent)
    page = told.content.decode()
    assert told.status_code == 422
    assert f"The plan of 26-01 has {has} glaze load" in page
    assert "Lid left ajar" in page
    assert not Firing.objects.exists()
    meant = re.search(r'name="load_meant" value="([^"]+)">Keep it as load', page)
    assert meant is not None
    other = client.post(place, {**sent, "load_number": str(has + 5), "load_meant": meant[1]})
    assert other.status_code == 422  # the answer was given for another number
    assert client.post(place, {**sent, "load_meant": meant[1]}).status_code == 302
    kept = Firing.objects.get()
    assert (kept.load_number, kept.notes) == (has + 4, "Lid left ajar")
    change = f"/kilns/{kept.kiln.slug}/firings/1/change/"
    assert client.post(change, {**sent, "notes": "Lid shut"}).status_code == 302  # kept already: not asked again
    asked = client.post(change, {**sent, "load_number": str(has + 9)})
    assert asked.status_code == 422
    assert Firing.objects.get().load_number == has + 4


def test_a_load_of_the_plan_is_kept_without_a_question(client: Client, cups: Commission, kiln: Kiln) -> None:
    sent = {"kind": "bisque", "cone": "04", "form": "self-supporting", "day": "2026-11-25", "commission_code": "26-01"}
    has = planned_load("26-01", "bisque", 1).firing.firings
    assert client.post("/kilns/old-round-kiln/firings/new/", {**sent, "load_number": str(has)}).status_code == 302


def test_fillers_of_the_workshop_are_proposed_taken_in_undone_and_printed(
    client: Client, cups: Commission, workshop_folder: Path
) -> None:
    file = workshop_folder / "workshop.toml"
    text = file.read_text(encoding="utf-8")
    assert "Fillers that fit" not in client.get(ADDRESS).content.decode()
    tile = '\n[[fillers]]\nname = "Test tile"\nacross = "30 mm"\nheight = "60 mm"\nmost = 5\n'
    file.write_text(text + tile, encoding="utf-8")
    page = client.get(ADDRESS).content.decode()
    assert "Fillers that fit" in page
    assert "Test tile" in page
    before = boxes_on(page)
    kept = client.post(ADDRESS, {**before, "extra": "[]", "do": "fill"}, follow=True).content.decode()
    assert "The arrangement is kept over the plan" in kept
    record = MovedLoad.objects.get()
    assert [each["form"] for each in record.extra] == ["Test tile"] * 5
    after = boxes_on(kept)
    assert {key: after[key] for key in before if key[:2] in ("x-", "y-", "a-")} == {
        key: before[key] for key in before if key[:2] in ("x-", "y-", "a-")
    }
    client.post(f"{ADDRESS}undo/")
    assert "as planned" in client.get(ADDRESS).content.decode()
    plan = planned_load(cups.code, "glaze", 1).plan
    told = shelf_sheet(plan, "a4")["firings"][1]["loads"][0]["fillers"]
    assert told.startswith("In its gaps fit, nothing moved: ")
    assert "Test tile" in told
    assert shelf_sheet(plan, "a4", {("glaze", 1): "by hand"})["firings"][1]["loads"][0]["fillers"] == ""
