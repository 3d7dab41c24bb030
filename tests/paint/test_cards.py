"""The painter's cards and the preview: to size, told apart without colour, labelled, the same each time. All is invented."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Polygon

from tests.paint.invented_artwork import petals
from tests.paint.invented_tiles import TILES
from wareboard.errors import OutOfRange
from wareboard.paint.amounts import amounts
from wareboard.paint.card_svg import Map, Sheet, cards, raw_colour, texture
from wareboard.paint.colour import hex_of
from wareboard.paint.hatch import HATCHES, hatch
from wareboard.paint.layers import Zones, zones
from wareboard.paint.laying import Laying, lay
from wareboard.paint.order import order_of_coats
from wareboard.paint.outline import number_places, path_of
from wareboard.paint.preview_svg import preview_svg

NS = "{http://www.w3.org/2000/svg}"
WALL = np.column_stack([np.linspace(0, 90, 10), np.linspace(30, 45, 10)])


def painted() -> tuple[Zones, Laying]:
    artwork, _ = petals(120, 300, 4, count=10)
    laid = lay(WALL, artwork.shape, repeats=1, off_foot_mm=6)
    return zones(artwork, TILES, 5, 3.0, laid.scale_mm, joined=True), laid


FOUND, LAID = painted()


def drawn_cards() -> tuple[Sheet, ...]:
    worked = amounts(LAID.areas_mm2(FOUND.labels), FOUND.tiles, FOUND.coats, 24)
    order = order_of_coats(FOUND.coats, FOUND.tiles)
    return cards(FOUND, order.coats, worked, "Invented mug", Map(LAID.mean_across_mm, LAID.row_mm, "life-size"), 24)


def area_of(path: str) -> float:
    """Area of path data by shapely, holes taken out by the evenodd rule."""
    whole = Polygon()
    for part in path.split("Z"):
        points = [tuple(float(n) for n in pair.split(",")) for pair in part.lstrip("M").split()]
        if len(points) > 2:
            whole = whole.symmetric_difference(Polygon(points).buffer(0))
    return float(whole.area)


def test_an_outline_is_as_large_as_its_zone_holes_and_all() -> None:
    """By hand: 40 x 30 pixels of half a millimetre less a hole of 10 x 8."""
    mask = np.zeros((50, 60), dtype=bool)
    mask[10:40, 5:45] = True
    mask[20:28, 15:25] = False
    path = path_of(mask, lambda pixels: pixels * 0.5)
    assert area_of(path) == pytest.approx((40 * 30 - 10 * 8) * 0.25, rel=0.005)
    numbers = np.array([[float(n) for n in pair.split(",")] for pair in re.findall(r"[-\d.]+,[-\d.]+", path)])
    assert numbers.min(axis=0) == pytest.approx([2.5, 5.0])
    assert numbers.max(axis=0) == pytest.approx([22.5, 20.0])


def test_every_card_is_sound_xml_to_size_and_says_that_colours_are_a_preview() -> None:
    sheets = drawn_cards()
    assert [sheet.name for sheet in sheets] == ["zones", *(f"coat-{k}" for k in range(1, len(FOUND.coats) + 1))]
    for sheet in sheets:
        root = ET.fromstring(sheet.svg)
        width, height = (float(root.attrib[side].removesuffix("mm")) for side in ("width", "height"))
        assert [float(part) for part in root.attrib["viewBox"].split()] == [0, 0, width, height]
        words = " ".join(text.text or "" for text in root.iter(f"{NS}text"))
        assert "preview" in words
        assert "wash hands" in words
        assert "raw" in words
        assert "fired" in words
        assert "100 mm" in words
        assert sheet.title in words


def test_the_line_to_measure_is_100_mm_and_the_map_is_life_size() -> None:
    (first, *_) = drawn_cards()
    assert re.search(r"M10,[\d.]+v3M110,[\d.]+v3M10,[\d.]+h100", first.svg)
    root = ET.fromstring(first.svg)
    paths = [p.attrib["d"] for p in root.iter(f"{NS}path") if p.attrib.get("fill-opacity")]
    total = sum(area_of(path) for path in paths)
    assert total == pytest.approx(FOUND.labels.size * LAID.mean_across_mm * LAID.row_mm, rel=0.01)
    assert total == pytest.approx(LAID.areas_mm2(FOUND.labels).sum(), rel=0.01)


def test_every_painted_zone_has_a_number_and_a_hatch_besides_its_colour() -> None:
    for sheet, coat in zip(drawn_cards()[1:], order_of_coats(FOUND.coats, FOUND.tiles).coats, strict=True):
        mine = [place + 1 for place, tile in enumerate(FOUND.tiles) if tile.name in coat.tiles]
        used = {int(number) for number in re.findall(r'fill="url\(#z[0-9a-f]{8}-(\d+)\)" fill-rule', sheet.svg)}
        assert used == set(mine)
        heavy = {int(number) for number in re.findall(r'font-weight="700">(\d+)</text>', sheet.svg)}
        assert set(mine) <= heavy
        assert sheet.svg.count("tick each coat") == len(mine)


def test_hatches_of_32_zones_are_all_different() -> None:
    drawn = {hatch(number, "x") for number in range(1, 2 * len(HATCHES) + 1)}
    assert len(drawn) == 2 * len(HATCHES)


def test_numbers_stand_inside_their_zones() -> None:
    marks = number_places(FOUND.labels, 0.5, 0.5)
    assert {mark.zone for mark in marks} == set(range(len(FOUND.tiles)))
    for mark in marks:
        assert FOUND.labels[int(mark.y_mm / 0.5), int(mark.x_mm / 0.5)] == mark.zone


def test_the_same_zones_give_the_same_bytes() -> None:
    assert [sheet.svg for sheet in drawn_cards()] == [sheet.svg for sheet in drawn_cards()]
    assert preview_svg(FOUND, LAID, "Invented mug") == preview_svg(FOUND, LAID, "Invented mug")


def test_the_preview_shows_raw_and_fired_to_size_and_says_what_it_is() -> None:
    svg = preview_svg(FOUND, LAID, "Invented <mug>")
    root = ET.fromstring(svg)
    words = " ".join(text.text or "" for text in root.iter(f"{NS}text"))
    assert "Preview: raw" in words
    assert "Preview: fired" in words
    silhouettes = [p.attrib["d"] for p in root.iter(f"{NS}path") if p.attrib["fill"].startswith("url(#p")]
    for outline in silhouettes:
        assert area_of(outline) == pytest.approx(90 * (30 + 45), rel=1e-3)  # two trapezia, by hand
    fills = [p.attrib["fill"] for p in root.iter(f"{NS}path")]
    assert sum(each == raw_colour(TILES[1]) for each in fills) > 1, "raw colours look alike"
    assert len({hex_of(tile.fired.lab) for tile in FOUND.tiles} & set(fills)) > 1


def test_what_faces_the_eye_is_seen_as_from_the_side() -> None:
    """A stripe a quarter turn wide in the middle is 2 r sin(45 degrees) wide from the side: the chord."""
    labels = np.zeros((40, 400), dtype=np.int32)
    labels[:, 150:250] = 1
    laid = lay([(0.0, 40.0), (80.0, 40.0)], labels.shape, repeats=1)
    two = replace(FOUND, labels=labels, tiles=FOUND.tiles[:2])
    svg = preview_svg(two, laid, "x", facing_share=0.5)
    fired = hex_of(two.tiles[1].fired.lab)
    (path,) = [p.attrib["d"] for p in ET.fromstring(svg).iter(f"{NS}path") if p.attrib["fill"] == fired]
    across = [float(pair.split(",")[0]) for pair in re.findall(r"[-\d.]+,[-\d.]+", path)]
    assert max(across) - min(across) == pytest.approx(2 * 40 * np.sin(np.pi / 4), abs=0.6)


def test_a_texture_shows_raw_or_fired() -> None:
    fired = texture(FOUND)
    assert fired.shape == (*FOUND.labels.shape, 3)
    assert f"#{bytes(fired[0, 0]).hex()}" == hex_of(FOUND.tiles[FOUND.labels[0, 0]].fired.lab)
    assert len(np.unique(texture(FOUND, "raw").reshape(-1, 3), axis=0)) <= 2
    with pytest.raises(OutOfRange, match="raw or fired"):
        texture(FOUND, "wet")


def test_a_coat_without_an_amount_is_refused() -> None:
    worked = amounts(LAID.areas_mm2(FOUND.labels), FOUND.tiles, FOUND.coats[:1], 24)
    with pytest.raises(OutOfRange, match="no amount"):
        cards(FOUND, FOUND.coats, worked, "x")
