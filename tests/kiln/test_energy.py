"""Energy by the duty method, and hours of cooling."""

from __future__ import annotations

import pytest

from wareboard.errors import NotInTable, OutOfRange
from wareboard.kiln.energy import cooling_hours, firing_energy
from wareboard.kiln.schedule import bisque_schedule, glaze_schedule
from wareboard.reference import rows, sources
from wareboard.working import Estimate, worked_out


@pytest.mark.parametrize(
    ("power", "hours", "kind", "kwh"),
    [
        (11.52, 9.0, "bisque", 51.8),
        (11.52, 8.0, "glaze", 59.9),
        (11.52, 7.0, "candle", 12.1),
        (11.5, 13.5, "quarter", 97.0),
    ],
)
def test_the_duty_method_meets_published_examples(power: float, hours: float, kind: str, kwh: float) -> None:
    """48 A at 240 V: 50 % bisque, 65 % glaze, 15 % candle (kiln-energy-lakeside); quarter method (kiln-energy-bailey)."""
    found = firing_energy(power, hours, kind=kind)
    assert found.kwh == pytest.approx(kwh, abs=0.06)
    assert found.low < found.kwh < found.high


def test_a_schedule_brings_its_own_hours_kind_and_candle() -> None:
    made = bisque_schedule("04")
    found = firing_energy(9.0, made)
    assert found.hours == made.heating_h
    assert found.kwh == pytest.approx(9.0 * ((made.heating_h - made.candle_h) * 0.5 + made.candle_h * 0.15))
    slow = glaze_schedule(slow_cool=True)
    assert firing_energy(9.0, slow).kwh == pytest.approx(9.0 * slow.heating_h * 0.65)


def test_energy_per_volume_is_what_kilns_of_that_size_are_seen_to_use() -> None:
    """Kilns near 200 L take 260 to 490 kWh/m³ a firing (worked from kiln-energy-lakeside and kiln-energy-bailey)."""
    per_m3 = firing_energy(11.5, glaze_schedule("6")).kwh / 0.198
    assert 260.0 <= per_m3 <= 490.0


def test_own_records_replace_the_duty() -> None:
    """Arithmetic: kW x hours x duty; 8 x 10 x 0.58 is 46.4, with 0.55 it is 44.0, with 0.61 48.8, with 0.5 40."""
    own = Estimate(0.58, 0.55, 0.61, "own records")
    found = firing_energy(8.0, 10.0, own)
    assert (found.kwh, found.low, found.high) == pytest.approx((46.4, 44.0, 48.8))
    assert found.steps[0].source == "own records"
    assert firing_energy(8.0, 10.0, 0.5).kwh == pytest.approx(40.0)


@pytest.mark.parametrize(
    ("power", "hours"), [(0.0, 9.0), (-9.0, 9.0), (float("nan"), 9.0), (9.0, -1.0), (9.0, float("inf"))]
)
def test_odd_power_and_hours_are_refused(power: float, hours: float) -> None:
    with pytest.raises(OutOfRange):
        firing_energy(power, hours)


def test_odd_duties_and_kinds_are_refused() -> None:
    with pytest.raises(OutOfRange, match="fraction"):
        firing_energy(9.0, 9.0, 65.0)
    with pytest.raises(NotInTable, match="raku"):
        firing_energy(9.0, 9.0, kind="raku")


def test_cooling_meets_the_hours_it_was_inferred_from() -> None:
    """A top-loader takes 14 h (12 to 24) from cone 6 to 54 °C, a thick front-loader 48 h (36 to 72)."""
    top, front = cooling_hours(1222.0, 54.0), cooling_hours(1222.0, 54.0, kiln="front-loader")
    assert (top.hours, top.low, top.high) == pytest.approx((14.0, 12.0, 24.0))
    assert (front.hours, front.low, front.high) == pytest.approx((48.0, 36.0, 72.0))


def test_a_day_from_the_peak_to_the_room_lies_in_the_range() -> None:
    """Bisque cools to the room in 12 to 24 h (common practice), taken here as 10 °C above the room."""
    found = cooling_hours(1063.0, 30.0)
    assert 12.0 < found.hours < 24.0
    assert found.low < 24.0 < found.high * 1.1


def test_plates_wait_longer_and_a_higher_opening_less() -> None:
    whole, plates = cooling_hours(1222.0), cooling_hours(1222.0, plates=True)
    assert (whole.to_c, plates.to_c) == (93.0, 50.0)
    assert cooling_hours(1222.0, 200.0).hours < whole.hours < plates.hours


def test_cooling_in_two_parts_adds_up() -> None:
    whole = cooling_hours(1222.0, 95.0).hours
    assert cooling_hours(1222.0, 500.0).hours + cooling_hours(500.0, 95.0).hours == pytest.approx(whole)


def test_a_schedule_cools_freely_from_where_its_program_ends() -> None:
    plain, slow = glaze_schedule(), glaze_schedule(slow_cool=True)
    assert cooling_hours(plain).hours == cooling_hours(plain.peak_c).hours
    assert cooling_hours(slow).hours == cooling_hours(800.0).hours
    assert slow.duration_h + cooling_hours(slow).hours > plain.duration_h + cooling_hours(plain).hours


def test_odd_cooling_is_refused() -> None:
    with pytest.raises(OutOfRange, match="above the room"):
        cooling_hours(1222.0, 22.0)
    with pytest.raises(OutOfRange, match="peak_c"):
        cooling_hours(80.0, 95.0)
    with pytest.raises(NotInTable, match="top-loader"):
        cooling_hours(1222.0, kiln="raku")


def test_the_working_works_out() -> None:
    steps = (*firing_energy(9.0, bisque_schedule()).steps, *firing_energy(9.0, 8.0).steps, *cooling_hours(1222.0).steps)
    assert len(steps) == 4
    for step in steps:
        assert worked_out(step.formula, step.inputs) == pytest.approx(step.value, rel=1e-12)


def test_every_firing_figure_has_a_source_that_is_listed_and_a_range_around_it() -> None:
    words = {"common-practice", "from-memory", "derived"}
    table = rows("kiln/firing")
    assert len({row["key"] for row in table}) == len(table)
    for row in table:
        assert set(row["source"].split("+")) - words <= set(sources()), row["key"]
        assert float(row["low"]) <= float(row["value"]) <= float(row["high"]), row["key"]
