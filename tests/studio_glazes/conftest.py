"""A workshop folder of its own for each test, a day that stands still, and the invented glazes of the book's own tests."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from django.conf import LazySettings

from tests.book_glazes.conftest import bucket, by, lots, white  # noqa: F401 - fixtures

DAY = date(2026, 11, 25)


@pytest.fixture(autouse=True)
def workshop_folder(tmp_path: Path, settings: LazySettings) -> Path:
    """An empty workshop folder, on a day that stands still."""
    settings.WAREBOARD = replace(settings.WAREBOARD, folder=tmp_path, today=DAY)
    return tmp_path


def picture(colour: tuple[int, int, int] = (200, 190, 170)) -> io.BytesIO:
    """An invented photograph, with the camera's notes in it."""
    from PIL import Image

    out, noted = io.BytesIO(), Image.Exif()
    noted[0x010F] = "Invented camera"
    Image.new("RGB", (120, 120), colour).save(out, "JPEG", exif=noted)
    out.seek(0)
    out.name = "tile.jpg"
    return out
