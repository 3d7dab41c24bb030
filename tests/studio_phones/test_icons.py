"""The icons are the studio's own mark, in the sizes that a phone asks for, and nothing that somebody forgot to draw anew.

Sizes and the maskable safe zone (a circle of 0.4 of the side round the middle): W3C, Web Application Manifest, from memory.
"""

from __future__ import annotations

import importlib.util
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from django.contrib.staticfiles import finders
from django.test import Client
from PIL import Image

PLACE = Path(__file__).parent.parent.parent / "docs" / "make_icons.py"
SPEC = importlib.util.spec_from_file_location("make_icons", PLACE)
assert SPEC is not None
assert SPEC.loader is not None
make_icons = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(make_icons)


@pytest.mark.parametrize("name", sorted(make_icons.ICONS))
def test_an_icon_is_what_its_script_draws_from_the_mark(name: str) -> None:
    side, share = make_icons.ICONS[name]
    kept = np.asarray(Image.open(make_icons.STATIC / name).convert("RGB"), dtype=float)
    fresh = np.asarray(Image.open(BytesIO(make_icons.drawn(side, share))).convert("RGB"), dtype=float)
    assert kept.shape == (side, side, 3)
    assert np.abs(kept - fresh).mean() < 1.0
    assert kept.min() < 60  # the mark's ink is there


def test_the_maskable_icon_keeps_the_mark_inside_the_circle_that_no_phone_cuts_off() -> None:
    picture = np.asarray(Image.open(make_icons.STATIC / "icon-512-maskable.png").convert("RGB"), dtype=float)
    rows, columns = np.nonzero(np.abs(picture - picture[0, 0]).sum(axis=2) > 30)
    from_middle = np.hypot(rows - 255.5, columns - 255.5)
    assert 60 < from_middle.max() <= 0.4 * 512


def test_the_manifest_names_icons_that_are_there(db: None) -> None:
    manifest = Client().get("/bench/bench.webmanifest").json()
    assert {(icon["sizes"], icon["purpose"]) for icon in manifest["icons"]} == {
        ("192x192", "any"),
        ("512x512", "any"),
        ("512x512", "maskable"),
    }
    worker = (make_icons.STATIC / "bench-offline.js").read_text(encoding="utf-8")
    for icon in manifest["icons"]:
        found = finders.find(icon["src"].removeprefix("/static/"))
        assert found
        assert f"{Image.open(found).width}x{Image.open(found).height}" == icon["sizes"]
        assert icon["src"] in worker  # kept for when there is no network
