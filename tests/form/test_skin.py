"""A picture round a solid, lines on it and what is seen of both: closed forms, trimesh and the glTF 2.0 specification."""

from __future__ import annotations

import io
import json
import struct

import numpy as np
import pytest
import trimesh
from PIL import Image

from wareboard.errors import OutOfRange
from wareboard.form.handle import strap
from wareboard.form.lip import PulledLip
from wareboard.form.profile import Profile, standard
from wareboard.form.ribbon import ribbon
from wareboard.form.skin import Skin
from wareboard.form.solid import solid
from wareboard.form.solid_files import STAGE_COLOURS, glb
from wareboard.form.solid_seen import EMPTY, lines_over, look, picture, smaller
from wareboard.form.solid_view import view_svg

CYLINDER = Profile(np.array([[0, 40], [90, 40.0]]), np.array([[5, 36], [90, 36.0]]))
CUP, HANDLE = standard("belly", 78.0, 80.0, 50.0, 85.0), strap(56.0, 26.0, 18.0, 7.0)


def quarters() -> np.ndarray:
    """A picture of four upright bands, red, green, blue and white, over a black lower half."""
    rgb = np.zeros((64, 128, 3), np.uint8)
    for place, colour in enumerate(((255, 0, 0), (0, 255, 0), (0, 0, 255), (255, 255, 255))):
        rgb[:32, 32 * place : 32 * (place + 1)] = colour
    return rgb


def upright(turn: float, radius: float = 40.0) -> tuple[np.ndarray, np.ndarray]:
    """An upright line on the cylinder's outside at an angle from the handle, and the directions square to it."""
    a = np.radians(turn)
    line = np.column_stack([np.full(61, radius * np.cos(a)), np.full(61, radius * np.sin(a)), np.linspace(15, 75, 61)])
    return line, np.tile([np.cos(a), np.sin(a), 0.0], (61, 1))


def test_on_a_cylinder_places_in_the_picture_are_angle_and_height() -> None:
    """u = angle / 2 pi from the handle's middle, v = 1 - height / 90 on a wall of 90 mm (closed form)."""
    body = solid(CYLINDER).parts[0]
    uv, under = Skin(quarters(), CYLINDER).co_ordinates(body)
    corners = body.points_mm[body.faces][under]
    assert np.hypot(corners[..., 0], corners[..., 1]) == pytest.approx(40.0, rel=0.001)
    assert uv[under][..., 1] == pytest.approx(1 - corners[..., 2] / 90)
    apart = uv[under][..., 0] - np.arctan2(corners[..., 1], corners[..., 0]) / (2 * np.pi)
    assert apart == pytest.approx(np.round(apart), abs=1e-9)
    assert np.ptp(uv[under][..., 0], axis=1).max() == pytest.approx(1 / 96)
    assert 0 <= uv.min() <= uv.max() <= 1


def test_the_covered_faces_have_the_area_of_the_wall_and_rows_are_even_along_it() -> None:
    """A frustum's side is pi (r + R) slant; the profile's own frusta summed."""
    whole = solid(CUP)
    uv, under = Skin(quarters(), CUP).co_ordinates(whole.parts[0])
    corners = whole.parts[0].points_mm[whole.parts[0].faces][under]
    area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1).sum() / 2
    line = CUP.outer_mm[CUP.standing :]
    steps = np.hypot(*np.diff(line, axis=0).T)
    assert area == pytest.approx((np.pi * (line[:-1, 1] + line[1:, 1]) * steps).sum(), rel=0.001)
    along = np.concatenate([[0], np.cumsum(steps)])
    assert uv[under][..., 1] == pytest.approx(1 - np.interp(corners[..., 2], line[:, 0], along) / along[-1], abs=1e-6)


@pytest.mark.parametrize("fine", [True, False])
def test_a_pulled_lip_takes_the_picture_with_it(fine: bool) -> None:
    """On the side away from the lip nothing moves: v is the share of the wall's length; the rim's is least."""
    jug, lip = standard("jug", 140.0, 80.0), PulledLip(14.0, 40.0, 35.0, 4.0)
    body = solid(jug, lip=lip, sides=48, fine=fine).parts[0]
    uv, under = Skin(quarters(), jug, lip=lip).co_ordinates(body, fine)
    corners, at = body.points_mm[body.faces][under], uv[under]
    line = jug.outer_mm[jug.standing :]
    along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    away = corners[..., 0] > 5
    expected = 1 - np.interp(corners[away][:, 2], line[:, 0], along) / along[-1]
    assert at[away][:, 1] == pytest.approx(expected, abs=0.01)
    pulled = corners[at[..., 1] < at[..., 1].min() + 1e-9]
    # The outermost of a rounded lip comes out by 14 mm, its crest a little further.
    assert np.ptp(np.hypot(pulled[:, 0], pulled[:, 1])) == pytest.approx(14.7, abs=0.8)
    assert np.ptp(pulled[:, 2]) == pytest.approx(4.0, abs=0.2)
    if not fine:  # a few points of the wall are not enough for it to bend, so more are put in
        with pytest.raises(OutOfRange, match="not turned from this profile"):
            Skin(quarters(), jug).co_ordinates(body, fine)


def test_inside_the_picture_is_the_right_way_round_for_whoever_looks_in() -> None:
    """From the middle, right is clockwise seen from above: u falls as the angle grows; the top row lies at the rim."""
    body = solid(CYLINDER).parts[0]
    uv, under = Skin(quarters(), CYLINDER, inside=True).co_ordinates(body)
    corners = body.points_mm[body.faces][under]
    assert np.hypot(corners[..., 0], corners[..., 1]).max() == pytest.approx(36.0, rel=0.001)
    wall = (np.hypot(corners[..., 0], corners[..., 1]) > 35.9).all(axis=1)
    apart = uv[under][wall][..., 0] + np.arctan2(corners[wall][..., 1], corners[wall][..., 0]) / (2 * np.pi)
    assert apart == pytest.approx(np.round(apart), abs=1e-9)
    assert uv[under][wall][..., 1] == pytest.approx((90 - corners[wall][..., 2]) / (85 + 36), abs=1e-9)


def test_a_body_of_another_profile_and_what_is_no_picture_are_refused() -> None:
    with pytest.raises(OutOfRange, match="not turned from this profile"):
        Skin(quarters(), CYLINDER).co_ordinates(solid(CUP).parts[0])
    with pytest.raises(OutOfRange, match="picture of shape"):
        Skin(np.zeros((4, 4)), CYLINDER)  # type: ignore[arg-type]


def test_gltf_with_a_picture_and_a_mark_keeps_the_rules_of_its_specification() -> None:
    """glTF 2.0: 3.8 textures, images and samplers, 3.6.2.4 alignment, 3.7.2.1 TEXCOORD_0; trimesh reads it."""
    line, square = upright(90.0, 41.0)
    content = glb(solid(CUP, HANDLE), "Cup", "fired", ribbon([line], [square], 1.0), Skin(quarters(), CUP))
    long = struct.unpack_from("<I", content, 12)[0]
    says, binary = json.loads(content[20 : 20 + long]), content[28 + long :]
    assert [mesh["name"] for mesh in says["meshes"]] == ["body", "handle", "mark"]
    bare, covered = says["meshes"][0]["primitives"]
    assert "TEXCOORD_0" not in bare["attributes"]
    assert says["accessors"][covered["attributes"]["TEXCOORD_0"]]["type"] == "VEC2"
    counts = {says["accessors"][place]["count"] for place in covered["attributes"].values()}
    assert len(counts) == 1
    assert all(view["byteOffset"] % 4 == 0 for view in says["bufferViews"])
    (image,) = says["images"]
    view = says["bufferViews"][image["bufferView"]]
    assert "target" not in view
    png = binary[view["byteOffset"] : view["byteOffset"] + view["byteLength"]]
    assert np.array_equal(np.asarray(Image.open(io.BytesIO(png))), quarters())
    assert says["materials"][covered["material"]]["pbrMetallicRoughness"]["baseColorTexture"] == {"index": 0}
    scene = trimesh.load(io.BytesIO(content), file_type="glb")
    seen = [mesh for mesh in scene.geometry.values() if getattr(mesh.visual, "uv", None) is not None]
    assert len(seen) == 1
    assert seen[0].visual.material.baseColorTexture.size == (128, 64)
    # trimesh counts v from the bottom: what is highest on the cup is at the top of the picture.
    assert seen[0].visual.uv[seen[0].vertices[:, 1].argmax(), 1] == pytest.approx(1.0, abs=1e-6)


def test_the_picture_shows_the_side_that_faces_the_eye() -> None:
    """From the front (270 degrees round from the handle) the last quarter is on the right, the third on the left."""
    whole = solid(CYLINDER, sides=48, fine=False)
    rgba = picture(look(whole, 0.0, 0.0, 120.0, 240), whole, "fired", Skin(quarters(), CYLINDER))
    row = rgba[80]
    right, left = row[150], row[90]
    assert right[:3].tolist() == [right[0]] * 3
    assert right[0] > 120
    assert left[2] > 120
    assert left[:2].tolist() == [0, 0]
    assert rgba[170, 120, :3].tolist() == [0, 0, 0]
    assert rgba[0, 0, 3] == 0
    assert rgba[120, 120, 3] == 255
    # 80 of 120 mm are 160 of 240 dots.
    assert (row[:, 3] > 0).sum() == pytest.approx(160, abs=2)
    half = smaller(rgba)
    assert half.shape == (120, 120, 4)
    assert half[60, 60, 3] == 255


def test_a_view_is_as_near_as_the_cylinder_is_round() -> None:
    """near = sqrt(r^2 - x^2), closed form, to the flats of 96 sides."""
    seen = look(solid(CYLINDER), 0.0, 0.0, 120.0, 240)
    x = (np.arange(240) + 0.5) / 240 * 120 - 60
    inside = np.abs(x) < 38
    assert seen.near_mm[120, inside] == pytest.approx(np.sqrt(40**2 - x[inside] ** 2), abs=0.15)
    assert (seen.face[120, np.abs(x) > 41] == EMPTY).all()


@pytest.mark.parametrize(("turn", "seen"), [(270, True), (315, True), (0, False), (90, False), (180, False)])
def test_lines_that_face_away_are_left_out(turn: float, seen: bool) -> None:
    whole = solid(CYLINDER, sides=28, fine=False)
    line, square = upright(turn)
    over = lines_over(look(whole, 0.0, 0.0, 120.0), [line], [square], 1.0)
    assert bool(over) is seen
    assert over in view_svg(whole, 0.0, 0.0, wide_mm=120.0, over=over)


def test_a_line_behind_the_handle_is_hidden_where_the_handle_is() -> None:
    """Seen with the handle towards the eye, an upright line at its middle is hidden by it, and one beside it is not."""
    whole = solid(CUP, HANDLE, sides=28, fine=False)
    view = look(whole, 270.0, 0.0)
    heights = np.linspace(5, 70, 66)
    radii = np.interp(heights, *CUP.outer_mm[CUP.standing :].T)
    for turn, least, most in ((0.0, 0, 45), (40.0, 66, 66)):
        a = np.radians(turn)
        line = np.column_stack([radii * np.cos(a), radii * np.sin(a), heights])
        shown = view.shows(line, np.tile([np.cos(a), np.sin(a), 0.0], (66, 1)))
        assert least <= shown.sum() <= most


def test_what_is_not_covered_has_the_colour_of_the_ground_or_of_the_clay() -> None:
    whole = solid(CUP, HANDLE, sides=24, fine=False)
    seen = look(whole, 0.0, 80.0, dots=120)
    clay = picture(seen, whole, "fired")
    ground = picture(seen, whole, "fired", Skin(quarters(), CUP, ground=(0.0, 0.5, 0.0)))
    floor = (60, 60)
    assert clay[floor][0] > clay[floor][2]
    assert ground[floor][[0, 2]].tolist() == [0, 0]
    assert "fired" in STAGE_COLOURS


def test_a_ribbon_seen_from_outside_turns_its_faces_outward() -> None:
    line, square = upright(30.0)
    part = ribbon([line], [square], 2.0, 0.1)
    mesh = trimesh.Trimesh(part.points_mm, part.faces, process=False)
    assert (mesh.face_normals @ square[0]).min() > 0.99
    assert mesh.area == pytest.approx(
        60 * 2 + 2 * 10 * np.sin(np.pi / 5) / 2, rel=1e-6
    )  # a strip, two discs of ten sides
    assert np.hypot(part.points_mm[:, 0], part.points_mm[:, 1]).min() >= 40.1 - 1e-6
    with pytest.raises(OutOfRange, match="there are none"):
        ribbon([], [], 1.0)
    with pytest.raises(OutOfRange, match="width of a line"):
        ribbon([line], [square], 0.0)
