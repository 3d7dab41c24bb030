"""A form begun from a photograph: the outline found, laid over, corrected by figures, kept as a commission."""

from __future__ import annotations

import io
import re
import tomllib

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image, ImageDraw

from tests.form.photographs import Scene, photograph
from tests.form.photographs_with_sheet import true_corners
from tests.form.test_photo_sheet import with_sheet
from wareboard.book.models import Commission
from wareboard.form.profile import standard

HERE = "/start/from-a-photograph/"
BEGIN = {
    "do": "begin",
    "size": "100 mm",
    "is": "height",
    "name": "bowl",
    "count": "12",
    "shrinkage": "12",
    "due": "2027-02-12",
}


def cone() -> SimpleUploadedFile:
    """A dark piece on a pale ground, 100 mm high as 500 dots, 60 mm wide at the foot and 120 mm at the rim."""
    picture = Image.new("RGB", (900, 700), (236, 232, 226))
    ImageDraw.Draw(picture).polygon([(300, 600), (600, 600), (750, 100), (150, 100)], fill=(60, 50, 45))
    kept = io.BytesIO()
    picture.save(kept, "PNG")
    return SimpleUploadedFile("cone.png", kept.getvalue(), "image/png")


def points(page: str) -> np.ndarray:
    found = [re.findall(rf'name="{name}-\d+" value="([\d.]+)"', page) for name in ("height", "width")]
    return np.array(found, dtype=float).T


def test_a_cone_is_read_corrected_and_kept_as_a_commission(client: Client, db: None) -> None:
    """Closed form: the width of a cone grows evenly, here from 60 to 120 mm over 100 mm."""
    page = client.post(HERE, {"do": "read", "picture": cone(), "size": "100 mm", "is": "height"}).content.decode()
    assert "<polyline" in page
    assert "No handle is seen" in page
    seen = points(page)
    assert seen[-1, 0] == pytest.approx(100.0, abs=0.1)
    assert np.abs(np.interp(seen[:, 0], [0, 100], [60, 120]) - seen[:, 1]).max() < 1.8
    sent = {f"height-{at}": f"{row[0]:.1f}" for at, row in enumerate(seen)}
    sent |= {f"width-{at}": f"{row[1]:.1f}" for at, row in enumerate(seen)}
    answer = client.post(HERE, {**BEGIN, **sent})
    assert answer.status_code == 302, answer.content.decode()[:2000]
    text = Commission.objects.get().paper.current.text  # type: ignore[union-attr]
    assert "profile = [" in text
    assert "From a photograph" in text
    assert client.get(answer["Location"]).status_code == 200


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"do": "read", "size": "95 mm"}, "none was chosen"),
        ({"do": "read", "picture": "text", "size": "95 mm"}, "it is text, whatever its name says"),
        ({"do": "read", "picture": "cone"}, "a photograph has no scale of its own"),
        ({"do": "read", "picture": "cone", "size": "big"}, "big"),
        ({"do": "read", "picture": "blank", "size": "95 mm"}, "nothing in it stands out"),
        ({**BEGIN, "height-0": "0", "width-0": "wide", "height-1": "90", "width-1": "80"}, "point 1"),
        (BEGIN, "fewer than two points"),
    ],
)
def test_what_is_wrong_is_told_and_what_was_typed_stays(
    client: Client, db: None, sent: dict[str, str], words: str
) -> None:
    blank = io.BytesIO()
    Image.new("RGB", (400, 300), (200, 200, 200)).save(blank, "PNG")
    files = {
        "text": lambda: SimpleUploadedFile("a.jpg", b"hello"),
        "cone": cone,
        "blank": lambda: SimpleUploadedFile("b.png", blank.getvalue()),
    }
    made = {name: files[value]() if name == "picture" else value for name, value in sent.items()}
    answer = client.post(HERE, made)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in page
    if sent.get("size"):
        assert f'value="{sent["size"]}"' in page
    assert not Commission.objects.exists()


def test_the_handle_that_is_seen_comes_with_its_sizes_or_is_left_out(client: Client, db: None) -> None:
    """The drawn scene's own strap: 0.675 of the height over all, 0.34 of it less 1 mm out to its middle, 0.075 thick."""
    scene = Scene(standard("cylinder", 100, 85), ground="pale", handle=1, glaze="blue", elevation=10, noise=2, seed=4)
    kept = io.BytesIO()
    Image.fromarray(photograph(scene, fine=1)).save(kept, "PNG")
    picture = SimpleUploadedFile("cup.png", kept.getvalue(), "image/png")
    page = client.post(HERE, {"do": "read", "picture": picture, "size": "100 mm", "is": "height"}).content.decode()
    seen = {
        name: re.findall(rf'name="handle-{name}" value="([\d.]*)"', page)[0] for name in ("height", "gap", "thickness")
    }
    assert float(seen["height"]) == pytest.approx(67.5, abs=4)
    assert float(seen["gap"]) == pytest.approx(34 - 1 - 3.75, abs=3)
    assert float(seen["thickness"]) == pytest.approx(7.5, abs=3)
    assert 'class="traced-handle"' in page
    outline = {"height-0": "0", "width-0": "80", "height-1": "100", "width-1": "85"}
    sizes = {f"handle-{name}": size for name, size in seen.items()}
    client.post(HERE, {**BEGIN, **outline, **sizes, "handle": "yes", "handle-gap": "30"})
    form = tomllib.loads(Commission.objects.latest("pk").paper.current.text)["forms"][0]  # type: ignore[union-attr]
    wanted = {"height": f"{seen['height']} mm", "gap": "30 mm", "thickness": f"{float(seen['thickness']):g} mm"}
    assert form["handle"] == wanted
    client.post(HERE, {**BEGIN, **outline, **sizes})
    form = tomllib.loads(Commission.objects.latest("pk").paper.current.text)["forms"][0]  # type: ignore[union-attr]
    assert "handle" not in form


def test_a_sheet_of_paper_by_the_piece_stands_for_its_size_and_none_at_all_is_refused(client: Client, db: None) -> None:
    scene = with_sheet(3010)
    kept = io.BytesIO()
    Image.fromarray(photograph(scene)).save(kept, "PNG")
    sent = SimpleUploadedFile("jug.png", kept.getvalue(), "image/png")
    page = client.post(
        HERE, {"do": "read", "picture": sent, "size": "", "is": "height", "sheet": "a4"}
    ).content.decode()
    assert points(page)[-1, 0] == pytest.approx(scene.profile.height_mm, rel=0.015)
    assert '<option value="a4" selected>' in page
    found = corners(page)
    assert nearest(found, true_corners(scene), scene.size) < 0.6
    answer = client.post(HERE, {"do": "read", "picture": cone(), "size": "", "is": "height", "sheet": ""})
    assert answer.status_code == 422
    assert "lay a sheet" in answer.content.decode()


def corners(page: str) -> np.ndarray:
    """(4, 2) of the corners in the boxes, per cent of the picture."""
    written = [re.findall(rf'name="corner-{way}-\d" value="([\d.]*)"', page) for way in ("across", "down")]
    return np.array([[float(each) for each in column] for column in written]).T


def nearest(shares: np.ndarray, places: np.ndarray, size: tuple[int, int]) -> float:
    """How far the farthest of some corners lies from the nearest of the true ones, dots."""
    found = shares / 100.0 * np.array(size) - 0.5
    return float(np.linalg.norm(found[:, None] - places, axis=2).min(axis=1).max())


def kept_of(page: str) -> dict[str, str]:
    """What the page sends back of the picture that was sent to it."""
    return {
        name: re.findall(rf'name="{name}" value="([^"]*)"', page)[0] for name in ("kept", "kept-lens", "corners-were")
    }


def test_corners_given_by_hand_are_drawn_to_the_paper_and_the_picture_need_not_be_sent_again(
    client: Client, db: None
) -> None:
    """A hand is off by 3 dots of 960; the corners by the camera that drew the scene are met to less than one."""
    scene = with_sheet(3010)
    kept = io.BytesIO()
    Image.fromarray(photograph(scene)).save(kept, "PNG")
    sent = {"do": "read", "size": "", "is": "height", "sheet": "a4"}
    asked = {"picture": SimpleUploadedFile("jug.png", kept.getvalue(), "image/png"), "size": "big"}
    answer = client.post(HERE, {**sent, **asked})
    assert answer.status_code == 422
    picture = kept_of(answer.content.decode())
    by_hand = (true_corners(scene) + 0.5) / np.array(scene.size) * 100 + np.array([[0.3, -0.2], [-0.3, 0.2]] * 2)
    written = {
        f"corner-{way}-{at}": f"{by_hand[at, which]:.1f}"
        for which, way in enumerate(("across", "down"))
        for at in range(4)
    }
    answer = client.post(HERE, {**sent, **picture, **written})
    page = answer.content.decode()
    assert answer.status_code == 200
    assert nearest(corners(page), true_corners(scene), scene.size) < 0.7
    assert points(page)[-1, 0] == pytest.approx(scene.profile.height_mm, rel=0.015)


def test_where_no_sheet_is_found_the_boxes_for_its_corners_are_open_and_a_missing_one_is_named(
    client: Client, db: None
) -> None:
    answer = client.post(HERE, {"do": "read", "picture": cone(), "size": "", "is": "height", "sheet": "a4"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "data-corners open" in page
    some = {"corner-across-0": "12,5", "corner-down-0": "60"}
    answer = client.post(HERE, {"do": "read", "size": "", "is": "height", "sheet": "a4", **kept_of(page), **some})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "corner 2 of the sheet" in page
    assert 'name="corner-across-0" value="12,5"' in page
    assert kept_of(page)["kept"]
    again = {"do": "read", "size": "100 mm", "is": "height", "sheet": "", **kept_of(page)}
    assert client.post(HERE, again).status_code == 200


def test_a_picture_sent_before_that_comes_back_broken_is_refused_in_words(client: Client, db: None) -> None:
    for kept in ("not base64 !", "aGVsbG8="):
        answer = client.post(HERE, {"do": "read", "size": "95 mm", "is": "height", "kept": kept})
        assert answer.status_code == 422
