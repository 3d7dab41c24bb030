"""An invented kiln, a firing of it, and the curve that an invented logger wrote."""

from __future__ import annotations

from datetime import UTC, date, datetime

import numpy as np
import pytest

from wareboard.book.firings import recording
from wareboard.book.firings.log_summary import schedule_data
from wareboard.book.firings.models import Firing, Kiln
from wareboard.book.firings.signing import Signed
from wareboard.kiln.schedule import glaze_schedule, plot_points

BY = Signed("Invented", datetime(2026, 11, 25, 9, 0, tzinfo=UTC))


@pytest.fixture
def kiln(db: None) -> Kiln:
    return recording.kiln_named("Old round kiln", BY)


def glaze_fields(day: date = date(2026, 11, 20)) -> dict[str, object]:
    return {"kind": "glaze", "cone": "6", "day": day, "schedule": schedule_data(glaze_schedule("6"))}


@pytest.fixture
def firing(kiln: Kiln) -> Firing:
    return recording.new_firing(kiln, glaze_fields(), BY)


def curve_csv(late_c: float = 0.0, every_min: float = 2.0, cool_h: float = 4.0) -> bytes:
    """The cone 6 schedule as a logger would write it, every two minutes, with some hours of cooling."""
    hours, temps = plot_points(glaze_schedule("6"))
    hours, temps = np.append(hours, hours[-1] + cool_h), np.append(temps, temps[-1] - 150.0 * cool_h)
    at = np.arange(0.0, hours[-1], every_min / 60.0)
    rows = [f"{60 * h:.2f},{t + late_c:.1f}" for h, t in zip(at, np.interp(at, hours, temps), strict=True)]
    return ("minutes,temperature °C\n" + "\n".join(rows) + "\n").encode()
