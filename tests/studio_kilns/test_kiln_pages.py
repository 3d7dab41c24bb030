"""The kilns' pages: with nothing, one and many records; packs, logs and parts written, undone and brought back."""

from __future__ import annotations

import io
import math
import re
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from tests.book_firings.conftest import curve_csv
from tests.studio_kilns.conftest import BY, CUPS, many_firings
from tests.test_pictures import RED_LEFT, file_of, png_that_says
from wareboard.book import keeping
from wareboard.book.firings.models import Firing, FiringLog, Kiln, PartsChange
from wareboard.sheets.firing_cones import CLOCKS, LONG, outline
from wareboard.studio import plans
from wareboard.studio.kilns import known_kilns
from wareboard.studio.kilns.trend_plot import Dot, trend_svg

FIRING = "/kilns/old-round-kiln/firings/1/"
NEW = {"kind": "glaze", "cone": "6", "form": "self-supporting", "day": "2026-11-25"}
PACK = {"levels": "1", "level-0": "bottom", "guide-0": "6", "target-0": "3", "guard-0": "12"}


def text(client: Client, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200, address
    return response.content.decode()


def test_a_kiln_of_the_workshops_file_is_there_before_it_was_fired(client: Client, db: None) -> None:
    assert "No firing is kept yet" in text(client, "/kilns/")
    assert "No firing is kept yet" in text(client, "/kilns/old-round-kiln/")
    assert Kiln.objects.count() == 0
    assert client.get("/kilns/no-such/").status_code == 404


def test_a_firing_comes_with_its_schedule_solved_and_is_kept(client: Client, db: None) -> None:
    shown = text(client, "/kilns/old-round-kiln/firings/new/?kind=bisque")
    lines = re.search(r"<textarea[^>]*name=\"schedule\"[^>]*>\s*(.*?)</textarea>", shown, re.DOTALL)
    assert lines is not None
    posted = {
        "kind": "bisque",
        "cone": "cone 04",
        "form": "self-supporting",
        "day": "2026-11-20",
        "schedule": lines[1],
        "kwh": "51,8",
    }
    response = client.post("/kilns/old-round-kiln/firings/new/", posted)
    assert response.headers["Location"] == FIRING
    firing = Firing.objects.get()
    assert (firing.cone, firing.kwh, firing.kiln.name) == ("04", 51.8, "Old round kiln")
    assert firing.schedule["segments"][0][3].startswith("candle")


def test_every_trouble_of_a_firing_is_told_at_once_and_nothing_typed_is_lost(client: Client, db: None) -> None:
    posted = {
        "kind": "glaze",
        "cone": "99",
        "form": "small",
        "day": "soon",
        "kwh": "-273",
        "meter_before_kwh": "10",
        "meter_after_kwh": "5",
        "schedule": "60; 20; 0\nnonsense\n100; NaN",
        "notes": "kept in the box",
    }
    response = client.post("/kilns/old-round-kiln/firings/new/", posted)
    page = response.content.decode()
    assert response.status_code == 422
    for words in ("cone 99", "This is not a day", "must lie from 0.01", "must stand above", "line 2", "line 3"):
        assert words in page, words
    for value in ("kept in the box", "nonsense", 'value="-273"'):
        assert value in page
    assert not Firing.objects.exists()


def test_a_schedule_that_goes_nowhere_is_refused_in_words(client: Client, db: None) -> None:
    posted = {"kind": "glaze", "cone": "6", "form": "self-supporting", "day": "2026-11-20", "schedule": "60; 20; 0"}
    response = client.post("/kilns/old-round-kiln/firings/new/", posted)
    assert "goes nowhere" in response.content.decode()


def test_packs_are_tapped_in_read_undone_and_done_again(client: Client, firing: Firing) -> None:
    assert client.post(f"{FIRING}cones/", PACK).status_code == 302
    row = firing.cones.get()
    assert (row.guide, row.target, row.guard) == ("5", "6", "7")
    assert row.target_deg == pytest.approx(8 + 82 / 2)  # three o'clock, half-way round: common practice
    assert row.by_clock
    assert "One change for the next firing" in text(client, FIRING)
    assert 'name="target-0" value="3" checked' in text(client, f"{FIRING}cones/")
    client.post(f"{FIRING}undo/")
    row.refresh_from_db()
    assert row.put_away is not None
    client.post(f"{FIRING}redo/")
    row.refresh_from_db()
    assert row.put_away is None


def test_degrees_are_taken_over_the_drawing_and_a_level_is_put_away(client: Client, firing: Firing) -> None:
    client.post(f"{FIRING}cones/", {**PACK, "target-deg-0": "71,5"})
    row = firing.cones.get()
    assert (row.target_deg, row.by_clock) == (71.5, False)
    client.post(f"{FIRING}cones/", {**PACK, "pk-0": str(row.pk), "off-0": "1"})
    row.refresh_from_db()
    assert row.put_away is not None
    assert firing.cones.count() == 1


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"target-deg-0": "-273"}, "-273 degrees"),
        ({"target-deg-0": "NaN"}, "not a finite number"),
        ({"target-0": "9"}, "9 o&#x27;clock"),
        ({"level-0": ""}, "This level has no name"),
        ({"guide-0": "", "target-0": "", "guard-0": ""}, "No cone was tapped yet"),
        ({"levels": "x"}, "No cone was tapped yet"),
    ],
)
def test_odd_packs_are_told_and_stay_in_their_boxes(
    client: Client, firing: Firing, more: dict[str, str], words: str
) -> None:
    response = client.post(f"{FIRING}cones/", PACK | more)
    assert response.status_code == 422
    assert words in response.content.decode()
    assert not firing.cones.exists()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photograph_is_kept_without_its_notes(client: Client, firing: Firing, kind: str) -> None:
    noted = Image.Exif()
    noted[0x010E] = "38.7223 N 9.1393 W of Invented"
    data = file_of(Image.fromarray(RED_LEFT), kind, exif=noted)
    assert b"Invented" in data
    client.post(f"{FIRING}cones/", {**PACK, "photo-0": SimpleUploadedFile("top", data)})
    photo = firing.cones.get().photo
    assert photo is not None
    shown = client.get(f"/kilns/files/{photo.pk}/")
    assert shown.headers["Content-Type"] == "image/jpeg"
    assert b"Invented" not in shown.content
    with Image.open(io.BytesIO(shown.content)) as picture:
        assert picture.size == (40, 20)


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "HEIC picture"),
        (png_that_says(40_000, 40_000), "million dots"),
        (png_that_says(40, 40)[:-30], "cut short or broken"),
        (b"notes", "it is text, whatever its name says"),
    ],
)
def test_a_photograph_that_is_none_is_told_beside_its_box_and_the_taps_stay(
    client: Client, firing: Firing, data: bytes, why: str
) -> None:
    page = client.post(f"{FIRING}cones/", {**PACK, "photo-0": SimpleUploadedFile("top.heic", data, "image/heic")})
    assert why in page.content.decode()
    assert 'name="guide-0" value="6" checked' in page.content.decode()
    assert not firing.cones.exists()


def log_file(data: bytes, name: str = "log.csv") -> dict[str, SimpleUploadedFile]:
    return {"log": SimpleUploadedFile(name, data, "text/csv")}


def test_a_log_is_reviewed_beside_last_times_firing(client: Client, kiln: Kiln) -> None:
    many_firings(kiln, 2)
    page = text(client, "/kilns/old-round-kiln/firings/2/")
    for words in ("Last time", "firing 1", "cone 6", "Planned and done", 'role="img"', "Over the last 100", "Nothing."):
        assert words in page, words
    assert page.count("<polyline") == 3


@pytest.mark.parametrize("data", [b"", b"\0\1\2" * 99, b"time,temp C\n0,20\n1,\xe9\n2,\xc3\xa9\n"])
def test_a_log_that_cannot_be_read_is_kept_and_can_be_taken_out(client: Client, firing: Firing, data: bytes) -> None:
    client.post(f"{FIRING}log/", log_file(data))
    log = FiringLog.objects.get()
    page = text(client, FIRING)
    assert "is kept, but could not be read yet" in page
    assert b"".join(client.get(f"/kilns/files/{log.file_id}/")) == data


def test_a_clock_that_ran_back_is_told_with_its_line(client: Client, firing: Firing) -> None:
    client.post(f"{FIRING}log/", log_file(b"minutes,temp C\n0,20\n30,80\n10,120\n90,900\n"))
    assert "Line 4: the clock ran back" in text(client, FIRING)


def test_a_broken_thermocouple_is_told_by_line_and_read_again_without(client: Client, firing: Firing) -> None:
    client.post(f"{FIRING}log/", log_file(curve_csv().replace(b"\n60.00,", b"\n60.00,-273\n61.00,", 1)))
    log = FiringLog.objects.get()
    assert "Line 32: -273" in text(client, FIRING)
    client.post(f"{FIRING}log/{log.pk}/read-again/", {"leave_out": "1"})
    assert "could not be read" not in text(client, FIRING)
    client.post(f"{FIRING}undo/")
    assert "could not be read" in text(client, FIRING)
    client.post(f"{FIRING}redo/")
    assert "To the end of the hold" in text(client, FIRING)


def test_no_file_and_an_odd_temperature_are_told(client: Client, firing: Firing) -> None:
    assert "No file was chosen" in client.post(f"{FIRING}log/", follow=True).content.decode()
    told = client.post(f"{FIRING}log/", {**log_file(curve_csv()), "terminals": "hot"}, follow=True).content.decode()
    assert "hot" in told
    assert "said error" in told


def test_parts_are_counted_put_away_and_fetched_back(client: Client, kiln: Kiln) -> None:
    many_firings(kiln, 3)
    client.post("/kilns/old-round-kiln/parts/", {"part": "elements", "day": "2026-09-03"})
    change = PartsChange.objects.get()
    assert change.after_firing == 2
    assert "1 firing<" in text(client, "/kilns/old-round-kiln/")
    client.post(f"/kilns/old-round-kiln/parts/{change.pk}/put-away/")
    assert "1 firing<" not in text(client, "/kilns/old-round-kiln/")
    client.post(f"/kilns/old-round-kiln/parts/{change.pk}/fetch-back/")
    assert "1 firing<" in text(client, "/kilns/old-round-kiln/")
    odd = client.post("/kilns/old-round-kiln/parts/", {"part": "elements", "day": "", "resistance_ohm": "NaN"})
    assert odd.status_code == 422


def test_a_firing_is_put_away_and_fetched_back_from_the_kilns_page(client: Client, firing: Firing) -> None:
    page = client.post(f"{FIRING}put-away/", follow=True).content.decode()
    assert "Fetch back firing 1" in page
    client.post(f"{FIRING}fetch-back/")
    firing.refresh_from_db()
    assert firing.put_away is None
    assert client.post(f"{FIRING}no-such/").status_code == 404
    assert client.get(f"{FIRING}undo/").status_code == 405


def test_two_levels_of_one_name_are_told(client: Client, firing: Firing) -> None:
    second = {name.replace("-0", "-1"): value for name, value in PACK.items()}
    response = client.post(f"{FIRING}cones/", {**second, **PACK, "levels": "2"})
    assert "Another level has the same name" in response.content.decode()
    assert not firing.cones.exists()


def test_a_firing_changed_in_another_window_is_told_and_kept_when_asked_again(client: Client, firing: Firing) -> None:
    facts = {"kind": "glaze", "cone": "6", "form": "self-supporting", "day": "2026-11-20"}
    seen = re.search(r'name="seen" value="(\d+)"', text(client, f"{FIRING}change/"))
    assert seen is not None
    client.post(f"{FIRING}change/", {**facts, "kwh": "61", "seen": seen[1]})
    response = client.post(f"{FIRING}change/", {**facts, "kwh": "62", "seen": seen[1]})
    page = response.content.decode()
    assert "changed in another window" in page
    assert 'value="62"' in page
    again = re.search(r'name="seen" value="(\d+)"', page)
    assert again is not None
    client.post(f"{FIRING}change/", {**facts, "kwh": "62", "seen": again[1]})
    firing.refresh_from_db()
    assert firing.kwh == 62.0


def test_the_history_says_what_changed_who_and_when(client: Client, firing: Firing) -> None:
    client.cookies["who"] = "Invented%20hand"
    client.post(
        f"{FIRING}change/",
        {"kind": "glaze", "cone": "7", "form": "self-supporting", "day": "2026-11-20", "kwh": "66"},
    )
    page = text(client, f"{FIRING}history/")
    for words in ("Invented hand", "cone", "66.0", "Recorded"):
        assert words in page


def test_a_kiln_with_many_firings_shows_trends_offsets_and_one_change(client: Client, kiln: Kiln) -> None:
    many_firings(kiln)
    page = text(client, "/kilns/old-round-kiln/")
    assert page.count("One change for the next firing") == 1
    assert page.count('class="trend-plot"') == 4
    for words in (
        "Cones on bottom say more",
        "Resistance: rising",
        "of new power is left",
        "electrician",
        "falls behind",
    ):
        assert words in page, words
    assert "12 firings" in page


def test_a_workshops_file_that_cannot_be_read_does_not_stop_the_kilns(
    client: Client, workshop_folder, kiln: Kiln
) -> None:  # type: ignore[no-untyped-def]
    many_firings(kiln, 1)
    (workshop_folder / "workshop.toml").write_text("kilns = [", encoding="utf-8")
    page = text(client, "/kilns/")
    assert "cannot be read yet" in page
    assert "nor a brief in hand names this kiln any more" in page


def test_drawn_cones_bend_over_from_upright_to_level_with_their_base() -> None:
    """Six o'clock is the end point: the tip comes down to the height of the base (kiln-s24, common practice)."""

    def tip(clock: int) -> tuple[float, float]:
        points = re.findall(r"([\d.]+) ([\d.]+)", outline(clock))
        return tuple(map(float, points[len(points) // 2]))  # type: ignore[return-value]

    heights = [tip(clock)[1] for clock in CLOCKS]
    assert heights == sorted(heights)
    assert heights[0] == pytest.approx(42.0 - LONG * math.cos(math.radians(8.0)), abs=1.0)
    assert heights[-1] == pytest.approx(42.0, abs=3.0)


@pytest.mark.parametrize("values", [[0.0], [1e-6, 2e-6], [-3.0, 4.0], [1e5] * 10, [5.0, 5.0]])
def test_a_trend_is_drawn_inside_its_frame(values: list[float]) -> None:
    svg = trend_svg("a", "°C", [Dot(at, value) for at, value in enumerate(values, 1)], "t")
    places = [float(y) for y in re.findall(r'cy="([-\d.]+)"', svg)]
    assert len(places) == len(values)
    assert all(22.0 - 0.1 <= y <= 150.1 for y in places)
    assert "nan" not in svg


OF_ITS_OWN = """
[[kilns]]
name = "Big oval"
shape = "rectangular"
shelf_width = "24 in"
shelf_depth = "18 in"
usable_height = "27 in"
"""


def test_a_kiln_that_only_a_brief_names_is_fired_and_recorded_like_any_other(
    client: Client, db: None, workshop_folder: Path
) -> None:
    text = CUPS + OF_ITS_OWN
    begun = keeping.new_commission(text, "Cups", why="Begun", who="", when=BY.when)
    page = client.get("/kilns/").content.decode()
    assert "Big oval" in page
    assert "Old round kiln" in page
    assert client.get("/kilns/big-oval/").status_code == 200
    asked = f"/kilns/big-oval/firings/new/?kind=glaze&cone=6&commission={begun.code}"
    assert client.get(asked).status_code == 200
    load = client.get(f"/kilns/load/{begun.code}/glaze/1/").content.decode()
    assert "/kilns/big-oval/firings/new/" in load
    (workshop_folder / "workshop.toml").write_text("", encoding="utf-8")
    assert [each.name for each in known_kilns.known_kilns()] == ["Big oval"]


def test_a_firing_begun_for_a_commission_has_the_schedule_of_its_plan(client: Client, db: None) -> None:
    """Thick ware is heated slower to 600 °C (common practice), so the usual schedule would not be the card's."""
    thick = CUPS.replace('height = "95 mm"', 'height = "95 mm"\nfloor = "14 mm"')
    begun = keeping.new_commission(thick, "Cups", why="Begun", who="", when=BY.when)
    plan = plans.plan_of_version(begun.paper.current, plans.basis())  # type: ignore[arg-type]
    asked = f"/kilns/old-round-kiln/firings/new/?kind=glaze&cone=6&commission={begun.code}"
    shown = client.get(asked).context["form"]["schedule"].value()
    first = plan.glaze_firing.schedule.segments[0]
    assert first.rate_c_per_h < 100
    assert shown.startswith(f"{first.rate_c_per_h:g}; {first.target_c:g}")
    other = client.get(asked.replace("cone=6", "cone=5")).context["form"]["schedule"].value()
    assert not other.startswith(f"{first.rate_c_per_h:g};")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"day": "1850-01-01"}, "Look at the year"),
        ({"day": "2099-01-01"}, "Look at the year"),
        ({"meter_before_kwh": "10,432", "meter_after_kwh": "10494"}, "Write 10432 if that is meant"),
    ],
)
def test_a_slip_in_a_firing_is_told_and_stays_in_its_box(
    client: Client, kiln: Kiln, typed: dict[str, str], words: str
) -> None:
    sent = client.post("/kilns/old-round-kiln/firings/new/", NEW | typed)
    assert sent.status_code == 422
    assert words in sent.content.decode()
    assert all(f'value="{each}"' in sent.content.decode() for each in typed.values())
    assert Firing.objects.count() == 0


def test_a_figure_may_carry_the_unit_that_its_box_names(client: Client, kiln: Kiln) -> None:
    assert client.post("/kilns/old-round-kiln/firings/new/", NEW | {"kwh": "64,5 kWh"}).status_code == 302
    assert Firing.objects.get().kwh == 64.5
