"""The mark's page, the painting's and the tiles': uploads, refusals with what was typed, sheets, undo."""

from __future__ import annotations

import io
import re
from pathlib import Path

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from tests.sheets.reading_pdf import pages_of, squeezed, text_of
from wareboard.book import keeping
from wareboard.book.models import Commission
from wareboard.book.prototypes import tiles
from wareboard.book.prototypes.models import ClientPicture, ColourTile
from wareboard.paint.colour import linear_from_lab, srgb_from_linear
from wareboard.plan.painted import PaintAsked
from wareboard.studio.kilns.kiln_pages import Signed
from wareboard.studio.today import now

pytestmark = pytest.mark.django_db
MARK, PAINTING = "/commissions/26-01/art/mark/", "/commissions/26-01/art/painting/"
HERON = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="60mm" viewBox="0 0 40 60">'
    b'<path d="M5 55 C10 30 30 40 20 20 S 30 5 35 12"/><path d="M20 38 L18 58"/></svg>'
)
MARK_BOXES = {
    "height": "20 mm", "count": "2", "kind": "lines", "cut": "incised", "lay": "plain", "copies": "9",
    "paper": "a4", "mirrored": "on",
}  # fmt: skip
PAINT_BOXES = {"coats": "4", "brush": "3 mm", "off_rim": "5 mm"}


def file(data: bytes, name: str) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data)


def png(rgb: np.ndarray) -> bytes:
    out = io.BytesIO()
    Image.fromarray(rgb).save(out, "PNG")
    return out.getvalue()


def artwork() -> bytes:
    rgb = np.full((90, 300, 3), (224, 218, 205), np.uint8)
    rgb[60:] = (40, 100, 70)
    rgb[10:50, 120:180] = (50, 70, 130)
    return png(rgb)


def three_tiles() -> None:
    by = Signed("Ada", now())
    for name, glaze, coats, raw, fired in (
        ("bare", "", 0, (88, 2, 9), (87, 1, 9)),
        ("reed", "Reed green", 3, (70, -4, 6), (38, -25, 12)),
        ("blue", "Water blue", 2, (72, 0, -4), (31, 9, -36)),
    ):
        fields = {"glaze": glaze, "coats": coats, "over_coats": 0}
        tiles.add_colour(name, fields, "raw", raw, "", by)
        tiles.add_colour(name, fields, "fired", fired, "", by)


def words(studio: Client, address: str) -> str:
    answer = studio.get(address)
    assert answer.status_code == 200, address
    return answer.content.decode()


def test_the_pages_are_there_before_anything_is_kept(studio: Client, cups: Commission) -> None:
    for address, told in (
        (MARK, "Give the drawing"),
        (PAINTING, "Give the artwork"),
        ("/tiles/", "No tile is kept yet"),
    ):
        assert told in words(studio, address)
    assert studio.get("/commissions/26-01/art/song/").status_code == 404
    assert studio.get(MARK + "sheet.pdf").status_code == 404


def test_a_drawn_mark_goes_on_the_cup_and_on_paper_at_one_to_one(
    studio: Client, cups: Commission, tmp_path: Path
) -> None:
    """The check line is measured from the PDF's own path operators (ISO 32000-1), apart from the typesetter."""
    assert studio.post(MARK, MARK_BOXES | {"picture": file(HERON, "heron.svg")}).status_code == 302
    shown = words(studio, MARK + "worked/")
    assert "Where it goes" in shown
    assert "Mark 2:" in shown
    sheet = tmp_path / "mark.pdf"
    sheet.write_bytes(studio.get(MARK + "sheet.pdf").content)
    assert squeezed("face down: it is mirrored") in text_of(sheet)
    page = pages_of(sheet)[1]
    flat = [line.length for line in page.lines if abs(line.y1 - line.y2) < 0.01 and line.length > 90]
    assert any(abs(length - 100.0) < 0.1 for length in flat), flat


def test_hours_that_leave_out_a_mark_kept_here_are_told_with_the_line_to_write(
    studio: Client, cups: Commission
) -> None:
    studio.post(MARK, MARK_BOXES | {"picture": file(HERON, "heron.svg")})
    count = MARK_BOXES["count"]
    told = words(studio, MARK + "worked/")
    assert f"reckon with no mark on Cup; here {count} are carved on each" in told
    assert f"Write a [mark] in the brief, and marks = {count} at the form" in told
    text = (
        cups.paper.current.text.replace('rim = "84 mm"', f'rim = "84 mm"\nmarks = {count}')
        + '\n[mark]\nwhat = "heron"\n'
    )
    keeping.write(cups.paper, text, seen=None, why="A mark", who="", when=now())
    assert "hours, calendar" not in words(studio, MARK + "worked/")


def test_the_mark_traced_through_every_stage_returns_to_the_asked_size(studio: Client, cups: Commission) -> None:
    """By the definition of shrinkage on the wet length: fired = leather-hard (1 - total) / (1 - gone by leather-hard)."""
    from wareboard.plan.marked import MarkAsked, drawing_from, marked
    from wareboard.studio import plans

    assert cups.paper.current is not None
    form = plans.plan_of_version(cups.paper.current, plans.basis()).forms[0]
    asked = MarkAsked(height_mm=20.0)
    found = marked(drawing_from(HERON, "heron.svg", asked), form, asked)
    loss = form.loss_height
    assert found.drawing.height_mm * (1 - loss.fired) / (1 - loss.leather_hard) == pytest.approx(20.0, abs=0.1)


@pytest.mark.parametrize(
    ("data", "name", "told"),
    [
        (b"just words", "mark.jpg", "picture"),
        (b'<!DOCTYPE svg [<!ENTITY a "b">]><svg xmlns="http://www.w3.org/2000/svg">&a;</svg>', "mark.svg", "entit"),
        (b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>', "mark.svg", "script"),
        (b'<svg xmlns="http://www.w3.org/2000/svg"></svg>', "mark.svg", "no lines"),
    ],
)
def test_what_is_no_drawing_is_refused_and_what_was_typed_stays(
    studio: Client, cups: Commission, data: bytes, name: str, told: str
) -> None:
    answer = studio.post(MARK, MARK_BOXES | {"height": "23 mm", "picture": file(data, name)})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert told in page
    assert 'value="23 mm"' in page
    assert not ClientPicture.objects.exists()


def test_a_picture_without_lines_says_so_in_place_of_a_template(studio: Client, cups: Commission) -> None:
    blank = png(np.full((200, 200, 3), 240, np.uint8))
    assert studio.post(MARK, MARK_BOXES | {"picture": file(blank, "blank.png")}).status_code == 302
    assert 'role="alert"' in words(studio, MARK + "worked/")
    assert studio.get(MARK + "sheet.pdf").status_code == 302


def test_a_new_drawing_can_be_undone(studio: Client, cups: Commission) -> None:
    studio.post(MARK, MARK_BOXES | {"picture": file(HERON, "heron.svg")})
    first = ClientPicture.objects.get().file_id
    studio.post(MARK, MARK_BOXES | {"picture": file(HERON.replace(b"L18 58", b"L16 58"), "second.svg")})
    assert ClientPicture.objects.get().file_id != first
    studio.post(MARK, {"do": "undo"})
    assert ClientPicture.objects.get().file_id == first


def test_a_painting_becomes_zones_and_a_painters_card(studio: Client, cups: Commission, tmp_path: Path) -> None:
    studio.post(PAINTING, PAINT_BOXES | {"picture": file(artwork(), "reeds.png")})
    assert "no tile is kept" in words(studio, PAINTING + "worked/")
    three_tiles()
    shown = words(studio, PAINTING + "worked/")
    for told in ("Order of coats", "Reed green", "Water blue", "g dry", "A preview"):
        assert told in shown
    sheet = tmp_path / "card.pdf"
    sheet.write_bytes(studio.get(PAINTING + "sheet.pdf").content)
    text = text_of(sheet)
    for told in ("Coat 1 of 2", "brush", "area a piece", "dry glaze a piece", "All zones", "raw", "fired"):
        assert squeezed(told) in text, told
    for page in pages_of(sheet)[2:]:
        assert any(abs(line.length - 100.0) < 0.1 for line in page.lines)


def test_hours_that_leave_out_a_painting_kept_here_are_told(studio: Client, cups: Commission) -> None:
    """Two glazes of three coats each, each on half the wall: 3 min a coat (the usual figure), 9 min in all."""
    three_tiles()
    studio.post(PAINTING, PAINT_BOXES | {"picture": file(artwork(), "reeds.png")})
    shown = words(studio, PAINTING + "worked/")
    assert "the plan’s hours, calendar and price reckon with none." in shown
    assert "List the glazes of this painting" in shown
    glazes = '[[glazes]]\nname = "Reeds"\non = "painting"\nmethod = "brush"\ncoats = 6\ncovers = 0.5\n'
    keeping.write(cups.paper, cups.paper.current.text + glazes, seen=None, why="", who="", when=now())
    shown = words(studio, PAINTING + "worked/")
    assert "the plan’s hours, calendar and price reckon with 9 min." in shown
    assert "List the glazes" not in shown


def test_own_rules_for_coats_hold_are_put_right_and_undone(studio: Client, cups: Commission) -> None:
    three_tiles()
    studio.post(PAINTING, PAINT_BOXES | {"picture": file(artwork(), "reeds.png")})
    first, then = laid(studio)
    wrong = studio.post(PAINTING, PAINT_BOXES | {"rules": f"{then} over all"})
    assert wrong.status_code == 422
    assert "no rule is made of that" in wrong.content.decode()
    assert f"{then} over all" in wrong.content.decode()  # what was typed stays
    studio.post(PAINTING, PAINT_BOXES | {"rules": f"{then} before {first} (ours)\nHoney before Black"})
    assert laid(studio) == [then, first]
    shown = words(studio, PAINTING + "worked/")
    assert "(ours)" in shown
    assert "o tile has the glaze &quot;Honey&quot;" in shown
    studio.post(PAINTING, {"do": "undo"})
    assert (
        "before" not in words(studio, PAINTING).partition("</textarea>")[0].rpartition("<textarea")[2].partition(">")[2]
    )
    assert laid(studio) == [first, then]


def laid(studio: Client) -> list[str]:
    """The glazes in the order in which they are laid."""
    return re.findall(r"<li><strong>([^<]+)</strong>, brushed", words(studio, PAINTING + "worked/"))


def test_the_map_is_as_long_as_the_wall_at_bisque_on_the_paper(cups: Commission) -> None:
    """Pappus: the mean girth times the length of wall is the area that the map covers, all repeats together."""
    from wareboard.paint.card_svg import map_svg
    from wareboard.pictures import picture_from_bytes
    from wareboard.plan.painted import painted
    from wareboard.studio import plans

    three_tiles()
    assert cups.paper.current is not None
    form = plans.plan_of_version(cups.paper.current, plans.basis()).forms[0]
    found = painted(picture_from_bytes(artwork()), tiles.tiles_now(), form, PaintAsked())
    _, wide, high = map_svg(found.found, found.drawn, {0})
    share = (1 - form.loss_height.bisque) / (1 - form.loss_height.fired)
    across = (1 - form.loss_width.bisque) / (1 - form.loss_width.fired)
    wall = form.profile.scaled(share, across).outer_mm[form.profile.standing :]
    runs, middles = np.hypot(*np.diff(wall, axis=0).T), (wall[1:, 1] + wall[:-1, 1]) / 2
    assert high == pytest.approx(float(runs.sum()), rel=1e-6)
    assert wide * found.laid.repeats * high == pytest.approx(float(2 * np.pi * middles @ runs), rel=1e-6)


def test_the_dossier_holds_both_sheets_once_the_pictures_are_kept(studio: Client, cups: Commission) -> None:
    three_tiles()
    studio.post(MARK, MARK_BOXES | {"picture": file(HERON, "heron.svg")})
    studio.post(PAINTING, PAINT_BOXES | {"picture": file(artwork(), "reeds.png")})
    page = words(studio, "/commissions/26-01/sheets/")
    assert "mark-cup.pdf" in page
    assert "painters-card-cup.pdf" in page


def photographed(truth: tuple[float, float, float], light: np.ndarray) -> bytes:
    """A synthetic photograph: a tile and a grey patch of L* 50 in coloured light, dimmed; its truth is known."""
    rgb = np.zeros((120, 200, 3))
    for left, lab in ((0, (50.0, 0.0, 0.0)), (100, truth)):
        rgb[:, left : left + 100] = srgb_from_linear(np.clip(linear_from_lab(np.array(lab)) * light, 0, 1))
    return png(np.round(rgb * 255).astype(np.uint8))


TILE_BOX_FIELDS = {
    "name": "reed over white", "glaze": "Reed green", "coats": "3", "stage": "fired", "tile_box": "120 20 180 100",
    "grey_box": "20 20 80 100", "grey_lightness": "50",
}  # fmt: skip


def test_a_photographed_tile_is_corrected_by_its_grey_patch(studio: Client, db: None) -> None:
    """Colours by CIE 15 and the sRGB transfer curve; known truth, 2 CIEDE2000 allowed."""
    from wareboard.paint.colour import ciede2000

    truth = (45.0, -18.0, 14.0)
    data = photographed(truth, np.array([0.95, 0.8, 0.6]))
    assert studio.post("/tiles/", TILE_BOX_FIELDS | {"picture": file(data, "tile.png")}).status_code == 302
    row = ColourTile.objects.get()
    assert float(ciede2000(np.array(row.fired[0]), np.array(truth))) < 2.0
    assert "reed over white" in words(studio, "/tiles/")


def test_photographed_tiles_are_corrected_by_the_card_of_24_patches(studio: Client, db: None) -> None:
    """The card's published colours; tiles that no fit saw, an invented camera; mean below 2 CIEDE2000."""
    from tests.paint.photographs import CARD_CORNERS, TILE_BOXES, photograph
    from tests.paint.test_card import TILES
    from wareboard.paint.card import card
    from wareboard.paint.colour import ciede2000

    data = png(np.round(photograph(card(), TILES).srgb * 255).astype(np.uint8))
    by_card = {"grey_box": "", "grey_lightness": "", "corners": " ".join(f"{each:g}" for each in CARD_CORNERS.ravel())}
    for number, box in enumerate(TILE_BOXES):
        boxes = TILE_BOX_FIELDS | by_card | {"name": f"tile {number}", "tile_box": " ".join(map(str, box))}
        assert studio.post("/tiles/", boxes | {"picture": file(data, "tiles.png")}).status_code == 302
    seen = np.array([ColourTile.objects.get(name=f"tile {number}").fired[0] for number in range(len(TILES))])
    assert float(ciede2000(seen, TILES).mean()) < 2.0


def test_a_tile_without_a_reference_is_refused_and_stays_typed(studio: Client, db: None) -> None:
    answer = studio.post("/tiles/", TILE_BOX_FIELDS | {"grey_box": "", "picture": file(artwork(), "tile.png")})
    assert answer.status_code == 422
    assert "reed over white" in answer.content.decode()
    assert not ColourTile.objects.exists()
    answer = studio.post(
        "/tiles/", TILE_BOX_FIELDS | {"tile_box": "900 900 950 950", "picture": file(artwork(), "tile.png")}
    )
    assert answer.status_code == 422
    assert "inside the picture" in answer.content.decode()


def test_a_tile_of_the_bare_body_needs_no_coats_and_a_cone_is_a_cone(studio: Client, db: None) -> None:
    data = photographed((60.0, 8.0, 18.0), np.array([1.0, 1.0, 1.0]))
    bare = TILE_BOX_FIELDS | {"name": "bare", "glaze": "", "coats": "", "cone": "Cone 6"}
    assert studio.post("/tiles/", bare | {"picture": file(data, "tile.png")}).status_code == 302
    row = ColourTile.objects.get()
    assert (row.coats, row.cone) == (0, "6")
    answer = studio.post("/tiles/", bare | {"cone": "x", "coats": "-2", "picture": file(data, "tile.png")})
    assert answer.status_code == 422
    assert "does not read as a cone number" in answer.content.decode()
    assert "It is below 0, which is the least." in answer.content.decode()


def test_a_tile_can_be_put_away_fetched_back_and_undone(studio: Client, db: None) -> None:
    three_tiles()
    row = ColourTile.objects.get(name="reed")
    studio.post(f"/tiles/{row.pk}/put-away/")
    assert len(tiles.tiles_now()) == 2
    studio.post(f"/tiles/{row.pk}/fetch-back/")
    assert len(tiles.tiles_now()) == 3
    for _ in range(3):
        studio.post(f"/tiles/{row.pk}/undo/")
    assert len(tiles.tiles_now()) == 2
