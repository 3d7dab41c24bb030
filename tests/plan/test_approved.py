"""What a client agrees to: ranges beside figures."""

from __future__ import annotations

from datetime import date

import pytest

from wareboard.plan.approved import facts_of, ranges_of, weight_g
from wareboard.plan.compiling import compile as compile_plan
from wareboard.plan.reading import read_brief, read_workshop

BRIEF = """# An invented brief.
title = "Cups"
due = 2027-02-12
[[forms]]
name = "Cup"
count = 24
height = "95 mm"
rim = "84 mm"
height_tolerance = "4 mm"
[clay]
shrinkage = "12 %"
"""


def test_ranges_are_the_briefs_own_or_those_that_workshops_agree() -> None:
    """Common practice: 2 mm in width, 5 % of what it holds, 10 % of its weight; 4 mm in height were agreed here."""
    day = date(2026, 11, 25)
    plan = compile_plan(read_brief(BRIEF, today=day), read_workshop("", today=day))
    told = {what: (shown, range_) for what, shown, range_ in ranges_of(plan)}
    assert told["Cup, height"] == ("95 mm", "91 mm to 99 mm")
    assert told["Cup, mouth"] == ("84 mm", "82 mm to 86 mm")
    for what, share in (("holds", 0.05), ("weighs", 0.10)):
        shown, range_ = told[f"Cup, {what}"]
        value, low, high = (float(each.split()[0]) for each in (shown, *range_.split(" to ")))
        assert low == pytest.approx(value * (1 - share), abs=5.0)
        assert high == pytest.approx(value * (1 + share), abs=5.0)
    assert {"Cup, holds", "Cup, fired weight"} <= {fact.name for fact in facts_of(plan)}


WORN = """
[[forms]]
name = "Jug"
count = 6
shape = "jug"
height = "178 mm"
rim = "76 mm"
[forms.handle]
height = "100 mm"
gap = "32 mm"
[[forms]]
name = "Weighed"
count = 6
height = "80 mm"
fired_weight = "1 lb 2 oz"
[[glazes]]
name = "Tenmoku"
on = "all"
"""


def test_what_a_piece_weighs_is_the_weighed_prototype_else_all_that_is_on_it() -> None:
    """1 lb 2 oz is 510.29 g (NIST SP 811); glaze weighs its area times 0.053 g/cm2 (J. Sankey), less a tenth burnt."""
    day = date(2026, 11, 25)
    text = BRIEF.replace("[clay]", WORN + "[clay]").replace("due =", 'show_lengths = "in"\ndue =')
    plan = compile_plan(read_brief(text, today=day), read_workshop("", today=day))
    jug, weighed = plan.forms[1:]
    assert weight_g(weighed, plan) == pytest.approx(510.29, abs=0.01)
    assert jug.strap is not None
    cm2 = plan.glazes[0].areas_mm2["Jug"] / 100
    assert weight_g(jug, plan) == pytest.approx(jug.vessel.fired_g + jug.strap.fired_g + cm2 * 0.053 * 0.9, rel=1e-9)
    told = {what: range_ for what, _, range_ in ranges_of(plan)}
    assert told["Weighed, weighs"] == "460 g to 560 g"
    assert told["Cup, height"].endswith(" in")
