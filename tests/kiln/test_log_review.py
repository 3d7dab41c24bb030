"""What a kiln did, found again in invented logs made from known ramps and holds."""

from __future__ import annotations

import numpy as np
import pytest

from wareboard.kiln.log import FiringLog
from wareboard.kiln.log_review import review, stretches
from wareboard.kiln.schedule import Schedule, Segment, glaze_schedule, plot_points


def logged(schedule: Schedule, step_s: float = 30.0, noise_c: float = 1.0) -> FiringLog:
    """The schedule as a perfect kiln would run it, with a thermocouple's noise from a fixed seed."""
    hours, temps = plot_points(schedule)
    times = np.arange(0.0, hours[-1] * 3600.0, step_s)
    seen = np.interp(times, hours * 3600.0, temps) + np.random.default_rng(1).normal(0.0, noise_c, len(times))
    return FiringLog(times, seen, ("temp",), "0", range(1, len(times) + 1), ())


MADE = Schedule(
    "made",
    (
        Segment(60.0, 90.0, 60.0),
        Segment(100.0, 600.0),
        Segment(150.0, 1122.0),
        Segment(60.0, 1222.0, 20.0),
        Segment(250.0, 700.0),
    ),
)


def test_ramps_and_holds_are_found_again() -> None:
    found = stretches(*_curve(MADE))
    assert [each.kind for each in found] == ["ramp", "hold", "ramp", "ramp", "ramp", "hold", "fall"]
    assert [each.rate_c_per_h for each in found] == pytest.approx([60, 0, 100, 150, 60, 0, -250], abs=10.0)
    assert found[1].end_h - found[1].start_h == pytest.approx(1.0, abs=0.1)
    assert found[5].end_h - found[5].start_h == pytest.approx(1.0 / 3.0, abs=0.1)


def _curve(made: Schedule) -> tuple[np.ndarray, np.ndarray]:
    log = logged(made)
    return log.times_s / 3600.0, log.temps_c


def test_the_curve_is_within_the_tolerance_of_its_stretches() -> None:
    """The split's own law: no point stands further from the stretches than 6 °C and the noise."""
    hours, temps = _curve(MADE)
    found = stretches(hours, temps)
    corners = [found[0].start_h, *(each.end_h for each in found)]
    heights = [found[0].from_c, *(each.to_c for each in found)]
    assert np.abs(np.interp(hours, corners, heights) - temps).max() < 6.0 + 5.0


def test_a_kiln_that_follows_meets_every_segment() -> None:
    seen = review(logged(MADE), MADE)
    for met in seen.met:
        assert met.rate_c_per_h == pytest.approx(
            met.planned.rate_c_per_h * (1 if met.planned.target_c != 700.0 else -1), rel=0.12
        )
        assert met.late_min == pytest.approx(0.0, abs=10.0)
        assert (met.overshoot_c or 0.0) == pytest.approx(0.0, abs=4.0)
    assert [met.overshoot_c is None for met in seen.met] == [False, True, True, False, False]
    assert seen.met[3].hold_min == pytest.approx(20.0, abs=10.0)
    assert seen.peak_c == pytest.approx(1222.0, abs=4.0)
    assert seen.last_100_h == pytest.approx(100.0 / 60.0, abs=0.4)


def test_a_tired_kiln_is_late_and_never_reaches_the_top() -> None:
    tired = Schedule(
        "tired", (Segment(60.0, 90.0, 60.0), Segment(80.0, 600.0), Segment(60.0, 1122.0), Segment(25.0, 1200.0))
    )
    seen = review(logged(tired), MADE)
    assert seen.met[2].rate_c_per_h == pytest.approx(60.0, rel=0.1)
    assert seen.met[2].late_min is not None
    assert seen.met[2].late_min > 300.0
    assert seen.met[3].reached_h is None
    assert seen.last_100_h > 3.0


def test_an_overshoot_is_measured() -> None:
    over = Schedule(
        "over", (Segment(150.0, 1122.0), Segment(60.0, 1234.0), Segment(200.0, 1222.0, 20.0), Segment(250.0, 900.0))
    )
    planned = Schedule("planned", (Segment(150.0, 1122.0), Segment(60.0, 1222.0, 20.0)))
    assert review(logged(over, noise_c=0.0), planned).met[1].overshoot_c == pytest.approx(12.0, abs=1.0)


def test_a_long_log_is_thinned_and_tells_the_same() -> None:
    fine, rough = review(logged(glaze_schedule(), 1.0)), review(logged(glaze_schedule(), 30.0))
    assert [each.kind for each in fine.segments] == [each.kind for each in rough.segments]
    assert fine.peak_at_h == pytest.approx(rough.peak_at_h, abs=0.4)
