"""A form begun from a photograph: the outline found, laid over, corrected by figures, kept as a commission."""

from __future__ import annotations

import io
import re

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image, ImageDraw

from wareboard.book.models import Commission

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
