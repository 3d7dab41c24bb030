"""Two editions of the cone chart never mix: what is asked of one is answered by that one, and says so."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.errors import NotInTable, OutOfRange
from wareboard.kiln import chart as charts
from wareboard.kiln import heat_work
from wareboard.kiln.chart import EDITIONS, FORMS, PRESENT, chart, chart_rows, cone_order, cones, next_cone
from wareboard.kiln.cone import end_point_c, equivalent, reading
from wareboard.reference import rows

NAMES = sorted({name for edition in EDITIONS for name, _ in chart(edition)})
PRINTED = {
    edition: {
        (row["cone"], row["form"], float(row["heating_rate_c_per_h"])): float(row["temp_c"])
        for row in rows(f"kiln/cones_{edition}")
        if row["status"] != charts.SET_ASIDE
    }
    for edition in EDITIONS
}


@given(
    st.sampled_from(EDITIONS),
    st.sampled_from(NAMES),
    st.sampled_from(FORMS),
    st.one_of(st.sampled_from([15.0, 60.0, 150.0, 300.0]), st.floats(5.0, 600.0)),
)
def test_an_answer_is_of_the_edition_that_was_asked_or_there_is_none(
    edition: str, cone: str, form: str, rate: float
) -> None:
    """Against the files themselves, read without the room's own loader of rows."""
    own = PRINTED[edition]
    made = any((cone, form) == (name, shape) for name, shape, _ in own)
    if not made:
        with pytest.raises(NotInTable, match=edition):
            reading(cone, rate, form, edition)
        return
    if edition != PRESENT and (cone, form, rate) not in own:
        with pytest.raises(OutOfRange, match=edition):
            reading(cone, rate, form, edition)
        return
    found = reading(cone, rate, form, edition)
    assert (found.edition, found.form) == (edition, form)
    assert f"{edition} chart" in str(found)
    assert {step.source for step in found.steps} <= {f"cone-chart-{edition}", "from-memory"}
    assert {row.edition for row in chart_rows(cone, form, edition)} == {edition}
    if (cone, form, rate) in own:
        assert found.temp_c == own[cone, form, rate]
        assert found.published


@given(st.sampled_from(EDITIONS), st.sampled_from(FORMS), st.integers(-2, 2), st.data())
def test_guide_and_guard_stay_in_their_edition(edition: str, form: str, step: int, data: st.DataObject) -> None:
    """Against the order of the whole cones that the edition's own file prints for that form."""
    own = sorted({cone for cone, shape, _ in PRINTED[edition] if shape == form and "." not in cone}, key=cone_order)
    if not own:
        with pytest.raises(NotInTable, match=edition):
            cones(form, edition)
        return
    at = data.draw(st.integers(0, len(own) - 1))
    if 0 <= at + step < len(own):
        assert next_cone(own[at], step, form, edition) == own[at + step]
    else:
        with pytest.raises(OutOfRange, match=edition):
            next_cone(own[at], step, form, edition)


@pytest.fixture
def older_chart_gone_wrong(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The older chart as if every figure in it were 137 °C off, with nothing kept from before."""

    def moved(table: str) -> tuple[Mapping[str, str], ...]:
        whole = rows(table)
        if table != "kiln/cones_older":
            return whole
        return tuple(MappingProxyType({**row, "temp_c": str(float(row["temp_c"]) + 137.0)}) for row in whole)

    kept = (charts.chart, charts.cones, heat_work.ladder)
    monkeypatch.setattr(charts, "rows", moved)
    for each in kept:
        each.cache_clear()
    yield
    monkeypatch.undo()
    for each in kept:
        each.cache_clear()


def _present() -> list[float]:
    found = [end_point_c(cone, rate, form) for form in FORMS for cone in cones(form) for rate in (20.0, 60.0, 100.0)]
    return [*found, equivalent([0.0, 72000.0], [20.0, 1220.0]).position]


BEFORE = _present()


@pytest.mark.usefixtures("older_chart_gone_wrong")
def test_nothing_in_the_older_chart_moves_an_answer_of_the_present_one() -> None:
    assert end_point_c("6", 150, "large", "older") == 1222.0 + 137.0
    assert _present() == BEFORE


def test_heat_work_is_counted_by_the_present_chart_and_says_so() -> None:
    assert equivalent([0.0, 72000.0], [20.0, 1220.0]).edition == PRESENT
