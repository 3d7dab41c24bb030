"""Files from elsewhere are the ones that were looked at, and carry their licence."""

from __future__ import annotations

import hashlib
import tomllib
from pathlib import Path

from django.contrib.staticfiles import finders

import wareboard.studio

STATIC = Path(wareboard.studio.__file__).parent / "static"
LISTED = tomllib.loads((STATIC / "VENDORED.toml").read_text(encoding="utf-8"))["file"]


def test_the_sums_are_those_that_were_written_down() -> None:
    for entry in LISTED:
        assert hashlib.sha256((STATIC / entry["path"]).read_bytes()).hexdigest() == entry["sha256"], entry["path"]


def test_each_has_its_package_version_and_licence() -> None:
    for entry in LISTED:
        assert entry["package"]
        assert entry["version"]
        assert entry["licence"] == "OFL-1.1"
        assert "SIL Open Font License" in (STATIC / entry["licence_file"]).read_text(encoding="utf-8")


def test_every_font_that_is_there_is_listed() -> None:
    there = {path.relative_to(STATIC).as_posix() for path in STATIC.rglob("*.woff2")}
    assert there == {entry["path"] for entry in LISTED}


def test_htmx_comes_with_its_package() -> None:
    assert finders.find("django_htmx/htmx-2.min.js")
