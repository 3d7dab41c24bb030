"""Solids against trimesh, closed forms and the glTF 2.0 specification."""

from __future__ import annotations

import io
import json
import math
import struct

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.form.test_profile import SIZES
from wareboard.errors import OutOfRange
from wareboard.form.handle import ROUNDED_STRAP, strap
from wareboard.form.profile import Profile, standard
from wareboard.form.roots import line_of
from wareboard.form.solid import SUNK_MM, Part, revolved, solid, strap_section
from wareboard.form.solid_files import glb, shaded, stl
from wareboard.form.vessel import clay_volume_mm3, fired_weight_g

CUP = standard("belly", 78.0, 80.0, 50.0, 85.0)
HANDLE = strap(56.0, 26.0, 18.0, 7.0)


def as_mesh(part: Part) -> trimesh.Trimesh:
    return trimesh.Trimesh(part.points_mm, part.faces, process=False)


@pytest.mark.parametrize("name", sorted(SIZES))
def test_every_shape_is_closed_and_holds_the_clay_of_its_profile(name: str) -> None:
    """trimesh finds each part closed, wound one way, and of the volume that the frusta of the profile have."""
    profile = standard(name, *SIZES[name])
    (body,) = solid(profile).parts
    mesh = as_mesh(body)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.body_count == 1
    assert mesh.volume == pytest.approx(clay_volume_mm3(profile), rel=1e-9)
    assert body.volume_mm3 == pytest.approx(mesh.volume, rel=1e-9)
    assert np.allclose(body.centre_mm, mesh.center_mass, atol=1e-6)
    assert fired_weight_g(profile, 2.0) == pytest.approx(2.0 * mesh.volume / 1000, rel=1e-9)


def test_a_cylinder_a_cone_and_a_zone_of_a_sphere_have_their_closed_forms() -> None:
    """pi r^2 h; pi h (r1^2 + r1 r2 + r2^2) / 3; pi h (3 a^2 + 3 b^2 + h^2) / 6 (any table of solids)."""
    cylinder = revolved("c", np.array([[0, 0], [0, 40], [95, 40], [95, 0]], float))
    assert as_mesh(cylinder).volume == pytest.approx(math.pi * 40**2 * 95, rel=1e-12)
    frustum = revolved("f", np.array([[0, 0], [0, 30], [60, 50], [60, 0]], float))
    assert as_mesh(frustum).volume == pytest.approx(math.pi * 60 * (30**2 + 30 * 50 + 50**2) / 3, rel=1e-12)
    turn = np.linspace(math.radians(-40), math.radians(65), 1500)
    zone = np.column_stack([50 * np.sin(turn), 50 * np.cos(turn)])
    loop = np.vstack([[zone[0, 0], 0.0], zone, [zone[-1, 0], 0.0]])
    a, b, h = zone[0, 1], zone[-1, 1], np.ptp(zone[:, 0])
    assert as_mesh(revolved("z", loop)).volume == pytest.approx(
        math.pi * h * (3 * a**2 + 3 * b**2 + h**2) / 6, rel=1e-6
    )


def test_a_hollow_cylinder_with_a_floor_is_the_outer_less_the_inner() -> None:
    """pi (44^2 * 95 - 40^2 * 90) (closed form)."""
    cup = Profile(np.array([[0, 44], [95, 44]], float), np.array([[5, 40], [95, 40]], float))
    assert solid(cup).volume_mm3 == pytest.approx(math.pi * (44**2 * 95 - 40**2 * 90), rel=1e-12)


@given(sides=st.integers(12, 200), height=st.floats(40, 300), rim=st.floats(60, 300))
@settings(max_examples=25, deadline=None)
def test_the_volume_does_not_hang_on_how_many_sides_a_circle_has(sides: int, height: float, rim: float) -> None:
    profile = standard("cylinder", height, rim)
    assert solid(profile, sides=sides).volume_mm3 == pytest.approx(clay_volume_mm3(profile), rel=1e-9)


def test_the_handle_is_closed_joins_the_wall_and_holds_the_clay_of_a_strap() -> None:
    """trimesh: closed; Pappus for a strap swept along its line, plus what its ends are sunk and shaped to the wall."""
    body, handle = (as_mesh(part) for part in solid(CUP, HANDLE).parts)
    assert handle.is_watertight
    assert handle.is_winding_consistent
    assert handle.body_count == 1
    ends = 2 * SUNK_MM * ROUNDED_STRAP * 18.0 * 7.0
    assert HANDLE.volume_mm3 < handle.volume < HANDLE.volume_mm3 * 1.02 + ends
    inside = np.hypot(handle.vertices[:, 0], handle.vertices[:, 1])
    heights = np.clip(handle.vertices[:, 2], 0, CUP.height_mm)
    wall = np.interp(heights, CUP.outer_mm[CUP.standing :, 0], CUP.outer_mm[CUP.standing :, 1])
    assert (inside - wall).min() == pytest.approx(-SUNK_MM, abs=0.05)  # within the wall, and never through it
    # As far out as gap and thickness, from the wall between the roots.
    line = line_of(CUP, HANDLE)
    assert handle.bounds[1, 0] == pytest.approx(line[:, 1].max() + 7.0 * (1 + 2 / 3) / 4, abs=0.5)
    assert body.bounds[1, 2] == pytest.approx(78.0, abs=1e-6)


def test_a_straps_section_has_the_area_that_was_asked() -> None:
    """Shoelace through shapely."""
    from shapely import Polygon

    for rounded in (0.8, 0.87, 0.95):
        section = Polygon(strap_section(rounded))
        assert section.is_valid
        assert section.area == pytest.approx(rounded, rel=1e-9)
        low_x, low_y, high_x, high_y = section.bounds
        assert (high_x - low_x, high_y - low_y) == pytest.approx((1.0, 1.0), abs=0.02)


def test_a_lid_sits_on_the_rim_and_is_closed() -> None:
    jar, lid = standard("lidded jar", 120.0, 90.0), standard("lid", 27.0, 90.0)
    set_on = as_mesh(solid(jar, lid=lid).parts[1])
    assert set_on.is_watertight
    assert set_on.volume == pytest.approx(clay_volume_mm3(lid), rel=1e-9)
    # The ledge is two thirds of the lid's height from its top; the flange hangs in the mouth.
    assert set_on.bounds[1, 2] == pytest.approx(120.0 + 18.0, abs=1e-6)
    assert set_on.bounds[0, 2] == pytest.approx(120.0 - 9.0, abs=1e-6)


def test_wet_it_is_larger_by_what_it_will_shrink() -> None:
    """Each length over (1 - s), so the volume over (1 - s)^3 (definition of linear shrinkage)."""
    fired = solid(CUP, HANDLE)
    wet = fired.scaled(1 / 0.88, 1 / 0.88)
    assert wet.volume_mm3 == pytest.approx(fired.volume_mm3 / 0.88**3, rel=1e-12)
    assert np.allclose(wet.size_mm, fired.size_mm / 0.88)


def test_stl_is_read_by_trimesh_as_the_same_closed_bodies() -> None:
    whole = solid(CUP, HANDLE)
    mesh = trimesh.load(io.BytesIO(stl(whole)), file_type="stl")
    assert mesh.is_watertight
    assert mesh.body_count == 2
    assert mesh.volume == pytest.approx(whole.volume_mm3, rel=1e-5)
    assert not stl(whole).startswith(b"solid")  # an STL in words begins so


def test_gltf_is_read_by_trimesh_in_metres_with_y_up() -> None:
    whole = solid(CUP, HANDLE)
    scene = trimesh.load(io.BytesIO(glb(whole)), file_type="glb")
    assert list(scene.geometry) == ["body", "handle"]
    volume = 0.0
    for mesh in scene.geometry.values():
        mesh.merge_vertices(merge_norm=True, digits_vertex=9)
        assert mesh.is_watertight
        volume += mesh.volume
    assert volume * 1e9 == pytest.approx(whole.volume_mm3, rel=1e-4)
    assert scene.bounds[1, 1] * 1000 == pytest.approx(78.0, abs=1e-3)
    assert glb(whole) == glb(whole)


def test_gltf_keeps_the_rules_of_its_specification() -> None:
    """glTF 2.0: 4.4 the container and its chunks, 3.6.2.4 alignment, 3.6.2.5 bounds of positions, 3.7.2.1 unit normals."""
    content = glb(solid(CUP, HANDLE), "Cup \N{LATIN SMALL LETTER E WITH ACUTE}", "bisque")
    magic, version, length = struct.unpack_from("<4sII", content)
    assert (magic, version, length) == (b"glTF", 2, len(content))
    first, kind = struct.unpack_from("<I4s", content, 12)
    assert kind == b"JSON"
    assert first % 4 == 0
    says = json.loads(content[20 : 20 + first])
    second, kind = struct.unpack_from("<I4s", content, 20 + first)
    assert kind == b"BIN\0"
    assert second == says["buffers"][0]["byteLength"] == len(content) - 28 - first
    binary = content[28 + first :]
    for mesh in says["meshes"]:
        (primitive,) = mesh["primitives"]
        arrays = {}
        for name, place in [*primitive["attributes"].items(), ("indices", primitive["indices"])]:
            accessor = says["accessors"][place]
            view = says["bufferViews"][accessor["bufferView"]]
            assert view["byteOffset"] % 4 == 0
            dtype, size = {5126: ("<f4", 4), 5123: ("<u2", 2), 5125: ("<u4", 4)}[accessor["componentType"]]
            wide = {"VEC3": 3, "SCALAR": 1}[accessor["type"]]
            assert view["byteLength"] == accessor["count"] * wide * size
            raw = binary[view["byteOffset"] : view["byteOffset"] + view["byteLength"]]
            arrays[name] = np.frombuffer(raw, dtype).reshape(-1, wide)
        bounds = says["accessors"][primitive["attributes"]["POSITION"]]
        assert arrays["POSITION"].min(axis=0).tolist() == pytest.approx(bounds["min"])
        assert arrays["POSITION"].max(axis=0).tolist() == pytest.approx(bounds["max"])
        assert np.linalg.norm(arrays["NORMAL"], axis=1) == pytest.approx(1.0, abs=1e-5)
        assert arrays["indices"].max() < len(arrays["POSITION"])
        assert len(arrays["indices"]) % 3 == 0


def test_a_foots_edge_is_shaded_sharp_and_a_belly_round() -> None:
    """A cylinder's normals are level on its side and upright on its ends; those of a round wall follow the radius."""
    points, direction, _ = shaded(revolved("c", np.array([[0, 0], [0, 40], [95, 40], [95, 0]], float)))
    side = np.abs(direction[:, 2]) < 0.5
    assert np.abs(direction[side, 2]).max() < 1e-6
    assert np.abs(direction[~side, 2]).min() > 1 - 1e-6
    outward = points[side, :2] / np.linalg.norm(points[side, :2], axis=1)[:, None]
    assert np.einsum("ij,ij->i", outward, direction[side, :2]).min() > 0.9999


def test_what_cannot_be_turned_is_refused_by_name() -> None:
    with pytest.raises(OutOfRange, match="section of the ring"):
        revolved("ring", np.array([[0, 10], [0, 40], [95, 40], [95, 0]], float))
    with pytest.raises(OutOfRange, match="3 sides"):
        solid(CUP, sides=3)
    with pytest.raises(OutOfRange, match="handle runs from"):
        solid(CUP, HANDLE, handle_at_mm=40.0)
    with pytest.raises(OutOfRange, match="mm wide"):
        solid(standard("cylinder", 78.0, 60.0), strap(56.0, 26.0, 70.0, 7.0))
