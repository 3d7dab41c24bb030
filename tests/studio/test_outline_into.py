"""An outline from a drawing or a table, kept as a commission or put into a form that stands, and undone."""

from __future__ import annotations

import math
import re
import tomllib

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from wareboard.book import keeping
from wareboard.book.models import Commission
from wareboard.studio.outline_into import with_outline
from wareboard.studio.today import now

HERE, START = "/commissions/26-01/forms/cup/outline/", "/start/from-a-drawing/"
CONE = b"""<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">
<path d="M100 150 H130 L145 60"/></svg>"""
TABLE = "height_mm;diameter_mm\n0;60,0\n90;90,0\n"
PAIRS = [[0.0, 60.0], [90.0, 90.0]]
POINTS = {"height-0": "0", "width-0": "60", "height-1": "90", "width-1": "90", "from": "drawing"}


def drawing(content: bytes = CONE, name: str = "cone.svg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content, "image/svg+xml")


def hidden(page: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    assert found, name
    return found[1]


def current(commission: Commission) -> str:
    commission.refresh_from_db()
    return Commission.objects.get(pk=commission.pk).paper.current.text  # type: ignore[union-attr]


def shown(client: Client, **sent: object) -> str:
    answer = client.post(HERE, sent)
    assert answer.status_code == 200, answer.content.decode()[:3000]
    return answer.content.decode()


@pytest.mark.parametrize("sent", [{"do": "drawing", "drawing": "cone"}, {"do": "table", "radii": TABLE}])
def test_an_outline_is_shown_beside_the_old_section_and_nothing_is_kept_yet(
    client: Client, cups: Commission, sent: dict[str, str]
) -> None:
    before = current(cups)
    page = shown(client, **{**sent, **({"drawing": drawing()} if "drawing" in sent else {})})
    assert [hidden(page, f"{name}-{at}") for at in (0, 1) for name in ("height", "width")] == [
        "0.0", "60.0", "90.0", "90.0",
    ]  # fmt: skip
    assert 'class="compared-old"' in page
    assert 'class="compared-new"' in page
    for words in ("Height", "Mouth", "Holds, to the brim", "Weighs, fired", "What it changes"):
        assert words in page
    assert current(cups) == before
    assert cups.paper.versions.count() == 1


def test_it_is_put_in_as_a_version_of_its_own_with_all_else_untouched_and_can_be_undone(
    client: Client, cups: Commission
) -> None:
    before = current(cups)
    page = shown(client, do="show", **POINTS)
    answer = client.post(
        HERE, {**POINTS, "do": "accept", "looked": hidden(page, "looked"), "seen": hidden(page, "seen")}
    )
    assert answer.status_code == 302
    text = current(cups)
    form = tomllib.loads(text)["forms"][0]
    assert form["profile"] == PAIRS
    assert not {"height", "rim", "foot", "belly"} & set(form)
    assert "# From a drawing; confirm it by the prototype." in text
    for kept in ("# An invented brief.", "# the one with the thick foot", 'on = "inside"', "count = 24"):
        assert kept in text
    version = Commission.objects.get(pk=cups.pk).paper.current
    assert version is not None
    assert version.why == "Outline of Cup from a drawing"
    client.post("/commissions/26-01/history/undo/")
    assert current(cups) == before


def test_what_is_shown_to_hold_is_what_the_closed_form_says(client: Client, cups: Commission) -> None:
    """Closed form: the inside of a frustum, pi h (a² + a b + b²) / 3, its wall and floor taken off; the lip's and the cut's
    small parts leave 3 % open."""
    text = current(cups).replace('rim = "84 mm"', 'rim = "84 mm"\nwall = "4 mm"\nfloor = "5 mm"')
    keeping.write(cups.paper, text, seen=cups.paper.current.pk, why="Wall", who="", when=now())  # type: ignore[union-attr]
    page = shown(client, do="show", **POINTS)
    found = re.search(r'Holds, to the brim</th>.*?data-label="After"><strong>([\d.]+) ml', page, re.DOTALL)
    assert found
    across = 4.0 * math.hypot(15, 90) / 90  # the wall is measured square to itself
    low, high = 30 + 15 * 5 / 90 - across, 45 - across
    wanted = math.pi * 85 * (low**2 + low * high + high**2) / 3 / 1000
    assert float(found[1]) == pytest.approx(wanted, rel=0.03)


def test_points_changed_after_the_look_are_shown_again_before_they_are_put_in(client: Client, cups: Commission) -> None:
    before = current(cups)
    page = shown(client, do="show", **POINTS)
    again = client.post(HERE, {**POINTS, "width-1": "95", "do": "accept", "looked": hidden(page, "looked")})
    assert again.status_code == 200
    assert "Look once more" in again.content.decode()
    assert 'value="95"' in again.content.decode()
    assert current(cups) == before


def test_a_brief_changed_in_another_window_is_told_and_the_points_stay(client: Client, cups: Commission) -> None:
    page = shown(client, do="show", **POINTS)
    seen = hidden(page, "seen")
    other = current(cups).replace("count = 24", "count = 30")
    keeping.write(cups.paper, other, seen=int(seen), why="Six more", who="", when=now())
    page = shown(client, do="show", seen=seen, **POINTS)
    answer = client.post(HERE, {**POINTS, "do": "accept", "looked": hidden(page, "looked"), "seen": seen})
    told = answer.content.decode()
    assert answer.status_code == 409
    assert "Six more" in told
    assert hidden(told, "width-1") == "90"
    answer = client.post(
        HERE, {**POINTS, "do": "accept", "looked": hidden(told, "looked"), "seen": hidden(told, "seen")}
    )
    assert answer.status_code == 302
    form = tomllib.loads(current(cups))["forms"][0]
    assert (form["count"], form["profile"]) == (30, PAIRS)


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"do": "drawing"}, "none was chosen"),
        ({"do": "drawing", "drawing": b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>"}, "a script"),
        ({"do": "drawing", "drawing": b"<!DOCTYPE a [<!ENTITY b 'c'>]><svg/>"}, "entities"),
        ({"do": "drawing", "drawing": CONE, "tall": "high"}, "high"),
        ({"do": "drawing", "drawing": b" "}, "it is empty"),
        ({"do": "table"}, "the box is empty"),
        ({"do": "table", "radii": "height_mm,radius_mm\n0,30\n45,wide\n90,40"}, "row 3"),
        ({"do": "table", "table": b"\xff\xfe\x00"}, "UTF-8"),
        ({"do": "show"}, "fewer than two points"),
        ({"do": "accept"}, "fewer than two points"),
        ({**POINTS, "do": "show", "width-1": "wide"}, "point 2"),
        ({**POINTS, "do": "accept", "width-0": "5", "width-1": "6"}, "wall"),
    ],
)
def test_what_is_wrong_is_told_nothing_is_lost_and_nothing_kept(
    client: Client, cups: Commission, sent: dict[str, str | bytes], words: str
) -> None:
    before = current(cups)
    made = {key: drawing(value, f"sent.{key}") if isinstance(value, bytes) else value for key, value in sent.items()}
    answer = client.post(HERE, made)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in page
    for key, value in sent.items():
        if key.startswith(("height", "width", "tall")):
            assert hidden(page, key) == value
    if "radii" in sent:
        assert str(sent["radii"]).splitlines()[0] in page
    assert current(cups) == before


@pytest.mark.parametrize("address", ["/commissions/26-01/forms/vase/outline/", "/commissions/26-09/forms/cup/outline/"])
def test_a_form_that_is_not_there_is_not_found(client: Client, cups: Commission, address: str) -> None:
    assert client.get(address).status_code == 404


def test_a_commission_is_begun_from_a_drawing(client: Client, db: None) -> None:
    page = client.post(START, {"do": "drawing", "drawing": drawing(), "tall": "180 mm"}).content.decode()
    sent = {f"{name}-{at}": hidden(page, f"{name}-{at}") for at in (0, 1) for name in ("height", "width")}
    begin = {
        "do": "begin",
        "from": hidden(page, "from"),
        "name": "cup",
        "count": "12",
        "shrinkage": "12",
        "due": "2027-02-12",
    }
    assert client.post(START, {**begin, **sent}).status_code == 302
    text = Commission.objects.get().paper.current.text  # type: ignore[union-attr]
    assert tomllib.loads(text)["forms"][0]["profile"] == [[0.0, 120.0], [180.0, 180.0]]
    assert "From a drawing" in text


def test_points_read_elsewhere_are_laid_beside_the_form_that_is_chosen(client: Client, cups: Commission) -> None:
    for address in (START, "/start/from-a-photograph/"):
        answer = client.post(address, {**POINTS, "do": "into", "into": "26-01/cup"})
        assert answer.status_code == 200
        assert 'class="compared-old"' in answer.content.decode()
        for wrong in ("", "26-01/vase", "26-09/cup"):
            answer = client.post(address, {**POINTS, "do": "into", "into": wrong})
            assert answer.status_code == 422
            assert "Choose the form" in answer.content.decode()
            assert hidden(answer.content.decode(), "width-1") == "90"


def test_a_handles_sizes_come_in_beside_what_the_brief_says_of_it(client: Client, cups: Commission) -> None:
    text = current(cups).replace('rim = "84 mm"', 'rim = "84 mm"\nhandle = { width = "20 mm", gap = "28 mm" }')
    keeping.write(cups.paper, text, seen=cups.paper.current.pk, why="Handle", who="", when=now())  # type: ignore[union-attr]
    sent = {**POINTS, "handle": "yes", "handle-height": "61", "handle-gap": "31,5", "handle-thickness": ""}
    page = shown(client, do="show", **sent)
    assert hidden(page, "handle-gap") == "31,5"
    client.post(HERE, {**sent, "do": "accept", "looked": hidden(page, "looked"), "seen": hidden(page, "seen")})
    assert tomllib.loads(current(cups))["forms"][0]["handle"] == {"width": "20 mm", "gap": "31.5 mm", "height": "61 mm"}
    answer = client.post(HERE, {**sent, "do": "show", "handle-height": "tall"})
    assert answer.status_code == 422
    assert hidden(answer.content.decode(), "handle-height") == "tall"


def test_a_table_on_one_line_and_one_without_other_sizes_are_changed_too() -> None:
    pairs = [(0.0, 60.0), (90.0, 90.0)]
    for text in (
        'forms = [{ name = "cup", count = 2, height = "90 mm", rim = "80 mm" }]\n',
        '[[forms]]\nname = "cup"\nprofile = [[0, 50], [80, 70]] # old\n\n[[forms]]\nname = "bowl"\nrim = "1 ft"\n',
    ):
        forms = tomllib.loads(with_outline(text, 0, pairs, "table"))["forms"]
        assert forms[0] == {key: forms[0][key] for key in ("name", "count") if key in forms[0]} | {"profile": PAIRS}
        assert forms[1:] == tomllib.loads(text)["forms"][1:]
