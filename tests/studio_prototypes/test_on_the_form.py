"""The mark and the painting on the form in the round: pages with and without scripts, pictures, files, refusals."""

from __future__ import annotations

import base64
import io
import re

import numpy as np
import pytest
import trimesh
from django.test import Client
from PIL import Image

from tests.studio_prototypes.test_art_pages import (
    HERON,
    MARK,
    MARK_BOXES,
    PAINT_BOXES,
    PAINTING,
    artwork,
    file,
    three_tiles,
    words,
)
from wareboard.book.models import Commission
from wareboard.book.prototypes.models import ColourTile
from wareboard.studio.phones.access import may
from wareboard.studio.prototypes import worked

pytestmark = pytest.mark.django_db
FORMS = "/commissions/26-01/forms/cup/"
ROUND, SEEN = FORMS + "round/", FORMS + "round/picture.svg"


def with_both(studio: Client) -> None:
    three_tiles()
    studio.post(MARK, MARK_BOXES | {"picture": file(HERON, "heron.svg")})
    studio.post(PAINTING, PAINT_BOXES | {"picture": file(artwork(), "reeds.png")})


def test_before_anything_is_kept_the_page_says_where_to_give_it(studio: Client, cups: Commission) -> None:
    page = words(studio, ROUND)
    assert "Nothing is on Cup yet" in page
    assert MARK in page
    assert PAINTING in page
    assert "With its mark" not in page
    asked = words(studio, ROUND + "?on=fired")
    assert "No painting is kept for Cup." in asked
    assert 'data-model="/commissions/26-01/forms/cup/fired.glb"' in asked
    assert studio.get(SEEN + "?on=fired").status_code == 404
    assert studio.get(FORMS + "fired.glb?on=mark").status_code == 404


def test_the_mark_is_drawn_on_the_form_and_carried_by_its_file(studio: Client, cups: Commission) -> None:
    """trimesh reads the file: the mark stands about as high as the 20 mm asked for."""
    with_both(studio)
    page = words(studio, ROUND + "?on=mark&stage=fired")
    assert 'data-model="/commissions/26-01/forms/cup/fired.glb?on=mark"' in page
    # Two marks, no handle on these cups: the first faces the eye a little to the left of the middle.
    assert 'data-turn="250"' in page
    assert page.count("picture.svg?") == 5
    drawn = words(studio, SEEN + "?on=mark&stage=fired&turn=270&tip=0")
    assert re.search(r'<path d="M[^"]+" fill="none" stroke="#1f120d"', drawn)
    assert "with its mark, fired: preview" in drawn
    answer = studio.get(FORMS + "fired.glb?on=mark")
    assert "26-01-cup-fired-with-mark.glb" in answer["Content-Disposition"]
    scene = trimesh.load(io.BytesIO(answer.content), file_type="glb")
    mark = scene.geometry["mark"]
    # As high as asked, and half a groove more at each end; leaning with the wall it stands a little less high.
    assert 19.5 < np.ptp(mark.vertices[:, 1]) * 1000 < 22.5
    assert "mark" not in trimesh.load(io.BytesIO(studio.get(FORMS + "fired.glb").content), file_type="glb").geometry


def test_before_leather_hard_the_page_says_that_nothing_is_carved(studio: Client, cups: Commission) -> None:
    with_both(studio)
    page = words(studio, ROUND + "?on=mark&stage=wet")
    assert "The mark is carved at leather-hard" in page
    assert 'data-model="/commissions/26-01/forms/cup/wet.glb"' in page


@pytest.mark.parametrize(("look", "stage"), [("raw", "bisque"), ("fired", "fired")])
def test_the_painting_is_shown_raw_and_fired_and_says_that_it_is_a_preview(
    studio: Client, cups: Commission, look: str, stage: str
) -> None:
    with_both(studio)
    page = words(studio, f"{ROUND}?on={look}")
    assert "Preview:</strong> colours are from your tiles under this screen’s light" in page
    assert f'data-model="/commissions/26-01/forms/cup/{stage}.glb?on={look}"' in page
    for side in ("Front", "Right", "Back", "Left"):
        assert f"<strong>{side}</strong>" in page
    for number, tile in ((1, "bare"), (2, "reed"), (3, "blue")):
        assert f'<th scope="row">{number}</th>' in page
        assert f"<strong>{tile}</strong>" in page
    assert page.count('class="hatch"') == 3
    assert ("Coats laid so far" in page) is (look == "raw")
    shown = words(studio, f"{SEEN}?on={look}&turn=0&tip=0")
    assert f"painted, {look}, {stage}: preview" in shown
    assert re.search(r"<text [^>]*>[123]</text>", shown)
    dots = np.asarray(Image.open(io.BytesIO(base64.b64decode(re.search(r"base64,([^\"]+)", shown)[1]))))  # type: ignore[index]
    assert dots.shape == (400, 400, 4)
    scene = trimesh.load(io.BytesIO(studio.get(f"{FORMS}{stage}.glb?on={look}").content), file_type="glb")
    textures = [mesh.visual.material.baseColorTexture for mesh in scene.geometry.values()]
    (texture,) = [each for each in textures if each is not None]
    colours = {tuple(each) for each in np.asarray(texture.convert("RGB")).reshape(-1, 3)}
    # Three tiles, of which the bare one also stands for what the artwork leaves free.
    assert len(colours) == 3


def test_mark_and_painting_are_shown_together_as_a_preview(studio: Client, cups: Commission) -> None:
    """trimesh reads the file: the mark's lines and a painted body are both in it."""
    studio.post(MARK, MARK_BOXES | {"picture": file(HERON, "heron.svg")})
    assert "Mark and painting" not in words(studio, ROUND)
    with_both(studio)
    page = words(studio, ROUND + "?on=both")
    assert re.search(r'on=both" aria-current="page">Mark and painting', page)
    assert "Preview:</strong> colours are from your tiles" in page
    assert "The mark is a dark line over it" in page
    assert 'data-turn="250"' in page  # turned to the mark
    assert page.count('class="hatch"') == 3
    assert MARK in page
    assert PAINTING in page
    drawn = words(studio, SEEN + "?on=both&turn=270&tip=0")
    assert "with its mark, painted, fired: preview" in drawn
    assert "<image " in drawn
    assert re.search(r'<path d="M[^"]+" fill="none" stroke="#1f120d"', drawn)
    answer = studio.get(FORMS + "fired.glb?on=both")
    assert "26-01-cup-fired-with-mark-painted.glb" in answer["Content-Disposition"]
    scene = trimesh.load(io.BytesIO(answer.content), file_type="glb")
    assert "mark" in scene.geometry
    assert any(mesh.visual.material.baseColorTexture is not None for mesh in scene.geometry.values())


def test_a_painting_inside_is_looked_into_from_above(studio: Client, cups: Commission) -> None:
    three_tiles()
    boxes = PAINT_BOXES | {"inside": "on", "off_foot": "25 mm", "picture": file(artwork(), "reeds.png")}
    studio.post(PAINTING, boxes)
    page = words(studio, ROUND + "?on=fired")
    assert "From four sides, from above" in page
    assert page.count("tip=60") >= 5
    assert 'data-tip="60"' in page
    assert 'data-tip="10"' in words(studio, ROUND + "?on=fired&tip=10")
    shown = words(studio, SEEN + "?on=fired&turn=0&tip=60&side=1")
    assert re.search(r"<text [^>]*>[123]</text>", shown)


@pytest.mark.parametrize("seen", ["turn=0&tip=0&side=1", "turn=45&tip=-40", "turn=180&tip=85"])
def test_the_whole_piece_is_in_the_picture_and_fills_more_than_half_of_it(
    studio: Client, cups: Commission, seen: str
) -> None:
    with_both(studio)
    shown = words(studio, f"{SEEN}?on=raw&{seen}")
    cover = np.asarray(Image.open(io.BytesIO(base64.b64decode(re.search(r"base64,([^\"]+)", shown)[1]))))[..., 3] > 0  # type: ignore[index]
    assert not cover[[0, -1]].any()
    assert not cover[:, [0, -1]].any()
    assert max(cover.any(axis=0).sum(), cover.any(axis=1).sum()) > 200


def test_coat_by_coat_the_raw_piece_fills_up(studio: Client, cups: Commission) -> None:
    with_both(studio)
    pictures = [words(studio, f"{SEEN}?on=raw&turn=180&tip=0&coats={coats}") for coats in (0, 1, 2)]
    assert len(set(pictures)) == 3
    assert pictures[2] == words(studio, f"{SEEN}?on=raw&turn=180&tip=0")
    page = words(studio, ROUND + "?on=raw&coats=1")
    assert "fired.glb" not in page
    assert "bisque.glb?on=raw&amp;coats=1" in page
    assert re.search(r'coats=1" aria-current="page"', page)


def test_a_painting_with_no_tile_says_what_is_missing(studio: Client, cups: Commission) -> None:
    with_both(studio)
    ColourTile.objects.all().delete()
    worked.forget()
    page = words(studio, ROUND + "?on=fired")
    assert "no tile is kept" in page
    assert "data-spots" not in page


def test_pages_of_mark_and_painting_lead_to_the_form_and_back(studio: Client, cups: Commission) -> None:
    with_both(studio)
    for address, on in ((MARK, "mark"), (PAINTING, "fired")):
        assert f"{ROUND}?on={on}" in words(studio, address + "worked/")
        assert address in words(studio, f"{ROUND}?on={on}")
    forms = words(studio, "/commissions/26-01/forms/")
    assert f"{ROUND}?on=mark" in forms
    assert f"{ROUND}?on=fired" in forms


def test_a_reader_may_look_and_a_helper_may_not() -> None:
    assert may("reader", "form-picture", "GET")
    assert not may("helper", "form-picture", "GET")
