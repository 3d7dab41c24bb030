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
    answer = client.post(HERE, {"do": "read", "picture": cone(), "size": "", "is": "height", "sheet": ""})
    assert answer.status_code == 422
    assert "lay a sheet" in answer.content.decode()
