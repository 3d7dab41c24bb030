"""A workshop with an invented kiln, some of its firings, and a commission of invented cups."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from django.conf import LazySettings

from tests.book_firings.conftest import curve_csv, glaze_fields
from wareboard.book import keeping
from wareboard.book.firings import recording
from wareboard.book.firings.models import Firing, Kiln
from wareboard.book.firings.signing import Signed
from wareboard.book.models import Commission

BY = Signed("Invented", datetime(2026, 11, 25, 9, 0, tzinfo=UTC))
WORKSHOP = """# An invented workshop.
[[kilns]]
name = "Old round kiln"
shelf_diameter = "460 mm"
usable_height = "600 mm"
power_kw = 8.0
"""
CUPS = """# An invented brief.
title = "Cups for a tea room"
due = 2027-02-12

[[forms]]
name = "Cup"
count = 30
height = "95 mm"
rim = "84 mm"
handle = {}

[[forms]]
name = "Bowl"
count = 10
height = "70 mm"
rim = "150 mm"

[clay]
shrinkage = "12 %"
"""


@pytest.fixture(autouse=True)
def workshop_folder(tmp_path: Path, settings: LazySettings) -> Path:
    """A workshop folder with one kiln, on a day that stands still."""
    settings.WAREBOARD = replace(settings.WAREBOARD, folder=tmp_path, today=date(2026, 11, 25))
    (tmp_path / "workshop.toml").write_text(WORKSHOP, encoding="utf-8")
    return tmp_path


@pytest.fixture
def kiln(db: None) -> Kiln:
    return recording.kiln_named("Old round kiln", BY)


@pytest.fixture
def firing(kiln: Kiln) -> Firing:
    return recording.new_firing(kiln, glaze_fields(), BY)


@pytest.fixture
def cups(db: None) -> Commission:
    return keeping.new_commission(CUPS, "Cups for a tea room", why="Begun", who="", when=BY.when)


def many_firings(kiln: Kiln, count: int = 12) -> list[Firing]:
    """Firings with packs, logs, meter and ohms, each a little hotter and a little more uneven than the last."""
    made = []
    for at in range(count):
        day = date(2026, 9, 1 + 2 * at)
        more = {
            "kwh": 60.0 + at,
            "resistance_ohm": 14.4 * (1 + 0.008 * at),
            "losses": "2 cups, crack at the handle, top",
        }
        each = recording.new_firing(kiln, {**glaze_fields(day), **more, "notes": f"Invented firing {at + 1}."}, BY)
        recording.keep_log(each, curve_csv(late_c=-4.0 + at, every_min=4.0), f"log-{at + 1}.csv", {}, BY)
        pack = {"guide": "5", "target": "6", "guard": "7", "guide_deg": 90.0, "guard_deg": 10.0, "by_clock": True}
        leans = {"bottom": 45.0 - at, "middle": 70.0, "top": 85.0}
        rows = [{"level": name, "place": i, **pack, "target_deg": lean} for i, (name, lean) in enumerate(leans.items())]
        recording.keep_cones(each, rows, BY)
        made.append(each)
    return made
