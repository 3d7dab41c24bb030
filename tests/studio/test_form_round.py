"""A form in the round: its page with and without script, its files read by trimesh, who may open it."""

from __future__ import annotations

import io
import re

import numpy as np
import pytest
import trimesh
from django.test import Client

from wareboard.book.models import Commission
from wareboard.form.handle import strap
from wareboard.form.profile import Profile, standard
from wareboard.form.solid import solid
from wareboard.form.solid_view import turned, view_svg
from wareboard.plan.solids import STAGES
from wareboard.studio.phones.access import may

ROUND = "/commissions/26-01/forms/cup/round/"


def test_the_page_says_that_it_is_a_preview_and_draws_it_without_script(client: Client, cups: Commission) -> None:
    page = client.get(ROUND).content.decode()
    assert "Preview:" in page
    assert page.count("<svg") >= 1
    assert re.search(r'<path d="M[\d.,L]+Z" fill="#[0-9a-f]{6}"', page)
    for stage in STAGES:
        assert f"?stage={stage}&amp;turn=30&amp;tip=25" in page
    assert 'data-model="/commissions/26-01/forms/cup/fired.glb"' in page
    assert "http" not in re.sub(r"http://www\.w3\.org/2000/svg", "", page)
    forms = client.get("/commissions/26-01/forms/").content.decode()
    assert ROUND in forms


def test_a_link_turns_the_drawing(client: Client, cups: Commission) -> None:
    seen = {client.get(f"{ROUND}?turn={turn}&tip={tip}").content for turn, tip in ((0, 0), (90, 0), (90, 40))}
    assert len(seen) == 3
    odd = client.get(f"{ROUND}?stage=glazed&turn=1e9&tip=-9999")
    assert odd.status_code == 200
    assert "looked at 85° from below" in odd.content.decode()


def test_the_files_are_the_piece_at_its_stage(client: Client, cups: Commission) -> None:
    """trimesh reads both; the cup of the brief is 3 3/4 in (95.25 mm) high fired, and 95.25 / 0.88 wet."""
    for stage, tall in (("fired", 95.25), ("wet", 95.25 / 0.88)):
        answer = client.get(f"/commissions/26-01/forms/cup/{stage}.stl")
        assert f"26-01-cup-{stage}.stl" in answer["Content-Disposition"]
        mesh = trimesh.load(io.BytesIO(answer.content), file_type="stl")
        assert mesh.is_watertight
        assert mesh.extents[2] == pytest.approx(tall, abs=1e-3)
    scene = trimesh.load(io.BytesIO(client.get("/commissions/26-01/forms/cup/fired.glb").content), file_type="glb")
    assert scene.extents[1] * 1000 == pytest.approx(95.25, abs=1e-3)


@pytest.mark.parametrize("address", ["jar/round/", "cup/glazed.glb", "cup/fired.obj"])
def test_what_is_not_there_is_not_found(client: Client, cups: Commission, address: str) -> None:
    assert client.get(f"/commissions/26-01/forms/{address}").status_code == 404


def test_a_reader_may_look_and_a_helper_may_not() -> None:
    assert may("reader", "form-round", "GET")
    assert may("reader", "form-solid", "GET")
    assert not may("helper", "form-round", "GET")


def test_the_drawing_leaves_out_what_is_turned_away() -> None:
    """Straight from above a cylinder shows its rim, its floor and nothing of its outside; turns keep lengths (rotation)."""
    cup = solid(Profile(np.array([[0, 40], [90, 40.0]]), np.array([[5, 36], [90, 36.0]])), sides=24)
    points = cup.parts[0].points_mm
    seen = turned(points, 37.0, 21.0)
    assert np.linalg.norm(seen[1:] - seen[:-1], axis=1) == pytest.approx(
        np.linalg.norm(np.diff(points, axis=0), axis=1)
    )
    assert np.allclose(turned(np.array([1.0, 0, 0]), 0, 0), [1, 0, 0])
    assert np.allclose(turned(np.array([0, 0, 1.0]), 50, 90), [0, 0, 1])
    # Two faces a side on the rim and one on the floor.
    assert view_svg(cup, 0.0, 90.0).count("<path") == 24 * 2 + 24


def test_a_rough_solid_is_closed_and_near_the_fine_one() -> None:
    """Within 2 % of the volume of the fine one, which meets its closed form; trimesh finds it closed."""
    profile, handle = standard("belly", 78.0, 80.0, 50.0, 85.0), strap(56.0, 26.0, 18.0, 7.0)
    rough, fine = solid(profile, handle, sides=28, fine=False), solid(profile, handle)
    assert rough.volume_mm3 == pytest.approx(fine.volume_mm3, rel=0.02)
    assert sum(len(part.faces) for part in rough.parts) < sum(len(part.faces) for part in fine.parts) / 5
    for part in rough.parts:
        assert trimesh.Trimesh(part.points_mm, part.faces, process=False).is_watertight
