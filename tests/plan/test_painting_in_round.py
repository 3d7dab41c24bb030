"""A painting round the solid of its form: its colours stand where the artwork says, its numbers in their zones."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh
from click.testing import CliRunner

from tests.paint.invented_tiles import TILES
from tests.plan.test_mark_in_round import poured
from tests.plan.test_solids import BRIEF
from wareboard.commands import demo_pictures, wareboard
from wareboard.commands.form import plan_of
from wareboard.errors import OutOfRange, WareboardError
from wareboard.paint.card_svg import UNKNOWN, raw_colour
from wareboard.paint.colour import hex_of, srgb_from_lab
from wareboard.pictures import Picture
from wareboard.plan.painted import PaintAsked, Painted, painted
from wareboard.plan.painting_in_round import bare_colour, painting_skin, spots, zone_colours
from wareboard.plan.result import Plan
from wareboard.plan.solids import solid_at

BODY, BLUE, LEAF = (np.array(TILES[place].fired.lab) for place in (0, 4, 3))


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    file = tmp_path_factory.mktemp("paintings") / "brief.toml"
    file.write_text(BRIEF, encoding="utf-8")
    return plan_of(file)


def artwork() -> Picture:
    """Bare, with a blue band from a quarter to a half of the way along and leaf green in the lower third."""
    lab = np.tile(BODY, (90, 240, 1)).astype(float)
    lab[:, 60:120] = BLUE
    lab[60:] = LEAF
    return Picture(np.round(srgb_from_lab(lab) * 255).astype(np.uint8), None, None, "PNG", ())


@pytest.fixture(scope="module")
def done(plan: Plan) -> Painted:
    asked = PaintAsked(coats=4, off_rim_mm=10.0, off_foot_mm=8.0, repeats=1)
    return painted(artwork(), TILES, plan.forms[0], asked)


def rgb(colour: str) -> list[int]:
    return [int(colour[k : k + 2], 16) for k in (1, 3, 5)]


def test_the_colours_stand_where_the_artwork_has_them(plan: Plan, done: Painted) -> None:
    """Column = share of the way round from the handle's middle, row = share of the wall from the rim (closed form)."""
    skin = painting_skin(done, plan.forms[0])
    high, wide = skin.rgb.shape[:2]
    blue, leaf, bare = (rgb(hex_of(TILES[place].fired.lab)) for place in (4, 3, 0))
    wall = done.laid.wall_mm
    long = float(np.hypot(*np.diff(wall, axis=0).T).sum())
    up = plan.forms[0].loss_height
    foot, rim = (mm * (1 - up.bisque) / (1 - up.fired) for mm in (8.0, 10.0))
    third = rim + (long - rim - foot) / 3
    assert skin.rgb[int(third / long * high), int(0.375 * wide)].tolist() == blue
    assert skin.rgb[int(third / long * high), int(0.75 * wide)].tolist() == bare
    low = long - foot - (long - rim - foot) / 6
    assert skin.rgb[int(low / long * high), int(0.75 * wide)].tolist() == leaf
    for band in (rim / 2, long - foot / 2):
        assert (skin.rgb[int(band / long * high)] == bare).all()
    edges = np.flatnonzero((skin.rgb[int(third / long * high)] == blue).all(axis=1))
    # A zone's edge may be a pixel of the artwork off.
    assert edges[[0, -1]] / wide == pytest.approx([0.25, 0.5], abs=2 / 240)


def test_raw_it_has_the_tiles_raw_colours_and_coat_by_coat_they_come(plan: Plan, done: Painted) -> None:
    assert zone_colours(done, "raw") == tuple(raw_colour(tile) for tile in done.found.tiles)
    bare = next(raw_colour(tile) for tile in done.found.tiles if not tile.layers)
    count = len(done.order.coats)
    assert count == 2
    assert set(zone_colours(done, "raw", 0)) == {bare}
    assert zone_colours(done, "raw", count) == zone_colours(done, "raw")
    first = done.order.coats[0]
    for tile, colour in zip(done.found.tiles, zone_colours(done, "raw", 1), strict=True):
        assert colour == (raw_colour(tile) if tile.name in first.tiles else bare)


def test_a_lower_coat_alone_is_grey_where_no_tile_shows_it(plan: Plan) -> None:
    over = TILES[7]
    lab = np.tile(np.array(over.fired.lab), (60, 160, 1)).astype(float)
    picture = Picture(np.round(srgb_from_lab(lab) * 255).astype(np.uint8), None, None, "PNG", ())
    made = painted(picture, [over], plan.forms[0], PaintAsked(coats=2))
    assert [coat.glaze for coat in made.order.coats] == ["iron red", "celadon"]
    assert zone_colours(made, "raw", 1) == (UNKNOWN,)


def test_every_number_stands_on_the_skin_of_its_own_zone(plan: Plan, done: Painted) -> None:
    """Each number's angle and height looked up in the picture gives its zone's colour; its place is on the profile."""
    cup = plan.forms[0]
    for look, stage in (("fired", "fired"), ("raw", "bisque")):
        skin, body = painting_skin(done, cup, look), solid_at(cup, stage).parts[0]
        found = spots(done, cup, look)
        assert {spot.number for spot in found} == set(range(1, len(done.found.tiles) + 1))
        uv, under = skin.co_ordinates(body)
        corners = body.points_mm[body.faces]
        middles = corners.mean(axis=1)
        for spot in found:
            assert np.linalg.norm(spot.square) == pytest.approx(1.0)
            face = np.flatnonzero(under)[np.linalg.norm(middles[under] - spot.place_mm, axis=1).argmin()]
            u, v = uv[face].mean(axis=0)
            colour = skin.rgb[int(v * len(skin.rgb)), int(u * skin.rgb.shape[1])].tolist()
            assert colour == rgb(zone_colours(done, look)[spot.number - 1])
            assert (
                np.dot(spot.square, np.cross(corners[face, 1] - corners[face, 0], corners[face, 2] - corners[face, 0]))
                > 0
            )


def test_a_painting_to_the_very_middle_is_refused_with_how_much_to_leave_free(plan: Plan) -> None:
    """Round a circle of that radius the artwork is as wide as the brush: 2 pi r, shared by the repeats."""
    with pytest.raises(OutOfRange, match="meets in a point") as told:
        painted(artwork(), TILES, plan.forms[0], PaintAsked(coats=3, inside=True, repeats=2))
    free = float(re.search(r"about (\d+) mm", str(told.value))[1])  # type: ignore[index]
    painted(artwork(), TILES, plan.forms[0], PaintAsked(coats=3, inside=True, repeats=2, off_foot_mm=free))


def test_inside_its_numbers_look_at_the_centre_line(plan: Plan) -> None:
    made = painted(artwork(), TILES, plan.forms[0], PaintAsked(coats=3, inside=True, repeats=2, off_foot_mm=30.0))
    skin = painting_skin(made, plan.forms[0])
    assert skin.inside
    for spot in spots(made, plan.forms[0]):
        # Round the belly the wall leans over, yet it always looks at the centre line.
        inward = np.array(spot.place_mm[:2]) @ np.array(spot.square[:2])
        assert inward <= 1e-9


def test_what_cannot_be_shown_is_refused_by_name(plan: Plan, done: Painted) -> None:
    with pytest.raises(OutOfRange, match="not on Jar"):
        painting_skin(done, plan.forms[1])
    with pytest.raises(OutOfRange, match="raw or fired"):
        painting_skin(done, plan.forms[0], "wet")
    with pytest.raises(OutOfRange, match="coats laid"):
        painting_skin(done, plan.forms[0], "fired", 1)
    with pytest.raises(OutOfRange, match="9 coats"):
        painting_skin(done, plan.forms[0], "raw", 9)


def test_the_command_draws_the_piece_and_writes_what_trimesh_reads(tmp_path: Path) -> None:
    brief, mark, art, tiles = (tmp_path / name for name in ("brief.toml", "heron.svg", "reeds.png", "tiles.csv"))
    brief.write_text(BRIEF, encoding="utf-8")
    mark.write_bytes(demo_pictures.heron_svg())
    art.write_bytes(demo_pictures.reed_bed_png())
    tiles.write_bytes(demo_pictures.tiles_csv().encode())
    marked = ["--mark", str(mark), "--height", "20 mm", "--count", "2"]
    paint = ["--painting", str(art), "--tiles", str(tiles), "--off-rim", "8 mm"]
    for given, said in (
        (marked, "Cup with its mark, fired"),
        ([*marked, "--stage", "dry"], "Cup with its mark, dry"),
        ([*paint, "--look", "raw"], "Cup painted, raw, bisque"),
        (paint, "Cup painted, fired, fired"),
        ([*paint, *marked], "Cup with its mark, painted, fired, fired"),
    ):
        for ending in ("glb", "svg"):
            out = tmp_path / f"cup.{ending}"
            done = CliRunner().invoke(
                wareboard, ["form", "decorated", str(brief), *given, "--out", str(out), "--replace"]
            )
            assert done.exit_code == 0, done.output
            assert said in done.output
            assert ("preview" in done.output) is (given[0] == "--painting")
        names = set(trimesh.load(str(tmp_path / "cup.glb")).geometry)
        assert ("mark" in names) is ("--mark" in given)
        drawn = (tmp_path / "cup.svg").read_text(encoding="utf-8")
        assert ("<image" in drawn) is (given[0] == "--painting")
        assert ('stroke="#1f120d"' in drawn) is ("--mark" in given)
        assert "preview" in drawn


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (["--out", "cup.obj", "--mark", "none.svg"], "written as .glb or .svg"),
        (["--out", "cup.glb"], "neither is given"),
        (
            ["--out", "cup.glb", "--mark", "none.svg", "--painting", "none.png", "--stage", "dry"],
            "a painting that is fired is shown fired",
        ),
        (["--out", "cup.glb", "--mark", "none.svg"], "size of the mark"),
        (["--out", "cup.glb", "--mark", "none.svg", "--height", "2 cm"], "no such file"),
        (["--out", "cup.glb", "--painting", "none.png"], "--tiles"),
    ],
)
def test_the_command_refuses_what_it_cannot_show(tmp_path: Path, given: list[str], told: str) -> None:
    brief = tmp_path / "brief.toml"
    brief.write_text(BRIEF, encoding="utf-8")
    done = CliRunner().invoke(wareboard, ["form", "decorated", str(brief), *given])
    assert isinstance(done.exception, WareboardError)
    assert told in str(done.exception)
    assert not Path("cup.glb").exists()


def test_numbers_close_under_a_pulled_lip_stand_on_the_wall_as_it_was_pulled(tmp_path: Path) -> None:
    """trimesh's nearest point on the pulled body; without the pull some would be more than 1 mm off it."""
    jug = poured(tmp_path, 180).forms[2]
    art = artwork()
    art = replace(art, rgb=np.roll(art.rgb, 30, axis=1))  # the blue half way round, where the lip is
    made = painted(art, TILES, jug, PaintAsked(coats=4, off_rim_mm=2.0, off_foot_mm=110.0, repeats=1))
    body = solid_at(jug, "fired").parts[0]
    mesh = trimesh.Trimesh(body.points_mm, body.faces, process=False)
    places = np.array([spot.place_mm for spot in spots(made, jug)])
    assert (places[:, 2] > jug.profile.height_mm - 30).any()
    _, off, _ = trimesh.proximity.closest_point_naive(mesh, places)
    assert off.max() < 0.3


def all_blue() -> Picture:
    lab = np.tile(BLUE, (60, 180, 1))
    return Picture(np.round(srgb_from_lab(lab) * 255).astype(np.uint8), None, None, "PNG", ())


@pytest.mark.parametrize("handle_round", [180, 90])
def test_where_handle_and_spout_are_joined_the_wall_is_bare(tmp_path: Path, handle_round: int) -> None:
    """Where they stand is told by the points of the drawn parts under the skin: within these bare, beside them not."""
    pot = poured(tmp_path, handle_round).forms[0]
    made = painted(all_blue(), TILES, pot, PaintAsked(coats=4, repeats=3))
    skin, solid = painting_skin(made, pot), solid_at(pot, "fired")
    assert sorted({note.partition(" is:")[0] for note in made.notes if "left bare where" in note}) == [
        "left bare where the handle's lower root",
        "left bare where the handle's upper root",
        "left bare where the spout's foot",
    ]
    bare = (skin.rgb == rgb(bare_colour(made, "fired"))).all(axis=2)
    assert 0.005 < bare.mean() < 0.1
    wall, up, side = made.laid.wall_mm, made.bisque_share, pot.profile.outer_mm[pot.profile.standing :]
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(wall, axis=0).T))])
    for name, roots in (("handle", 2), ("spout", 1)):
        points = next(part for part in solid.parts if part.name == name).points_mm
        sunk = points[np.hypot(*points[:, :2].T) < np.interp(points[:, 2], side[:, 0], side[:, 1]) - 0.1]
        middle = sunk[:, 2].mean()
        for root in (sunk,) if roots == 1 else (sunk[sunk[:, 2] < middle], sunk[sunk[:, 2] >= middle]):
            turn = np.unwrap(np.arctan2(root[:, 1], root[:, 0]))
            place = np.column_stack([turn / (2 * np.pi), np.interp(root[:, 2] * up, wall[:, 0], along) / along[-1]])
            ends = place[[*place.argmin(axis=0), *place.argmax(axis=0)]]
            centre = (place.min(axis=0) + place.max(axis=0)) / 2
            for of, grown, is_bare in ((place, 0.8, True), (ends, 1.4, False)):
                u, v = (centre + grown * (of - centre)).T
                seen = bare[((1 - v) * len(bare)).astype(int), (u * bare.shape[1]).astype(int) % bare.shape[1]]
                assert (seen == is_bare).mean() > 0.9, (name, grown)
    assert len(spots(made, pot)) >= 3


def test_a_pulled_lip_is_left_bare_unless_it_is_asked_to_be_painted(tmp_path: Path) -> None:
    """The area left out is the lip's width times how far down it is pulled, to within what the wall's curve makes of it."""
    jug = poured(tmp_path, 180).forms[1]
    shown = [painted(artwork(), TILES, jug, PaintAsked(coats=4, over_lip=over)) for over in (False, True)]
    assert [any("pulled lip" in note for note in each.notes) for each in shown] == [True, False]
    areas = [float(each.worked.areas_mm2.sum()) for each in shown]
    lip, up = jug.poured.lip, (1 - jug.loss_height.bisque) / (1 - jug.loss_height.fired)
    assert lip is not None
    assert areas[1] - areas[0] == pytest.approx(lip.width_mm * up * lip.down_mm * up, rel=0.15)
