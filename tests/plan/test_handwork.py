"""Hands-on minutes: as many marks are reckoned as are carved."""

from __future__ import annotations

from typing import Any

import pytest

from wareboard.plan.assume import Assumer
from wareboard.plan.brief import Brief
from wareboard.plan.handwork import marks_a_piece, minutes_a_piece
from wareboard.plan.workshop import OwnFigures


def brief(mark: bool, **form: Any) -> Brief:
    cup = {"name": "cup", "count": 24, "height": "95 mm", **form}
    whole = {"due": "2027-03-12", "clay": {"shrinkage": "12 %"}, "forms": [cup]}
    return Brief.model_validate(whole | ({"mark": {"what": "heron"}} if mark else {}))


@pytest.mark.parametrize(
    ("mark", "form", "carved"),
    [
        (False, {}, 0),
        (False, {"marks": 3}, 0),
        (True, {}, 1),
        (True, {"marks": 3}, 3),
        (True, {"marks": 0}, 0),
        (False, {"carving": {"drawing": "heron.svg"}}, 1),
        (False, {"carving": {"drawing": "heron.svg", "count": 4}}, 4),
        (True, {"marks": 2, "carving": {"drawing": "heron.svg"}}, 2),
        (True, {"marks": 2, "carving": {"drawing": "heron.svg", "count": 5}}, 5),
    ],
)
def test_a_form_takes_time_for_each_mark_that_is_carved_on_it(mark: bool, form: dict[str, Any], carved: int) -> None:
    """So many times the minutes of one mark, by counting."""
    asked = brief(mark, **form)
    assert marks_a_piece(asked.forms[0], asked) == carved
    found = minutes_a_piece(asked.forms[0], "cup", asked, OwnFigures(minutes={"mark": 7.0}), Assumer())
    assert (found["mark"].value if carved else 0.0) == pytest.approx(7.0 * carved)
