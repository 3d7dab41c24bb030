"""Measurements read back, and what they teach the next plan."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.book_learning.conftest import CUPS, LONG_AGO
from tests.book_learning.test_the_loop import NEXT, planned
from tests.book_measures.conftest import begin, commission, measured
from wareboard.book.glazes.models import GlazeBatch, GlazeRecipe, RecipeVersion
from wareboard.book.learning.own import figures_on
from wareboard.book.measures import read
from wareboard.book.measures.charts import agreed_size
from wareboard.book.measures.measuring import take_back
from wareboard.book.models import Commission
from wareboard.plan.own import shrinkage_key

THE_DAY = date(2026, 11, 25)


def _pairs(of: Commission, shrinkage: float, what: str = "height", count: int = 6) -> None:
    for piece in range(1, count + 1):
        wet = 108.0 + 0.3 * piece
        measured(of, what, wet, piece=str(piece))
        measured(of, what, wet * (1.0 - shrinkage), at_h=400.0, piece=str(piece), stage="fired")


def test_wet_and_fired_meet_by_the_pieces_number(tea: Commission) -> None:
    _pairs(tea, 0.13)
    measured(tea, "height", 95.0, at_h=400.0, piece="99", stage="fired")  # never measured wet
    found = list(read.wet_and_fired())
    assert len(found) == 6
    assert all(1.0 - pair.fired.value / pair.wet.value == pytest.approx(0.13) for pair in found)


def test_a_foot_says_nothing_of_shrinkage_because_it_is_cut(tea: Commission) -> None:
    _pairs(tea, 0.13, what="foot")
    assert list(read.wet_and_fired()) == []


def test_measured_shrinkage_flows_into_the_figures_of_the_next_plan(tea: Commission) -> None:
    """Definition: shrinkage = (wet - fired) / wet; six pieces at exactly 13 % draw the mean from the default to it."""
    key = shrinkage_key("height", "Stoneware B", "Cup")
    assert key not in {figure.key for figure in figures_on(THE_DAY)}
    _pairs(tea, 0.137)
    figure = next(each for each in figures_on(THE_DAY) if each.key == key)
    assert figure.records == 6
    assert abs(figure.learned.mean.value - 0.137) < abs(figure.prior.value - 0.137)
    assert figure.learned.mean.value == pytest.approx(0.137, abs=0.004)


def test_what_was_measured_today_counts_tomorrow_and_what_was_taken_back_never(tea: Commission) -> None:
    key = shrinkage_key("height", "Stoneware B")
    _pairs(tea, 0.13)
    same_day = (LONG_AGO + timedelta(hours=400)).date()
    assert key not in {figure.key for figure in figures_on(same_day)}
    for pair in list(read.wet_and_fired()):
        take_back(f"back-{pair.fired.pk:06d}", pair.fired.key, stands=False, who="", now=LONG_AGO)
    assert key not in {figure.key for figure in figures_on(THE_DAY)}


def test_weighings_of_a_board_are_those_of_the_piece_weighed_most(tea: Commission) -> None:
    board = begin(tea, 12)
    for hours, grams in ((0.0, 420.0), (20.0, 380.0), (40.0, 350.0)):
        measured(tea, "weigh-in", grams, at_h=hours, board=board.code, piece="3")
    measured(tea, "weigh-in", 401.0, board=board.code, piece="4")
    assert [each.grams for each in read.weighings(board)] == [420.0, 380.0, 350.0]


def test_the_rooms_air_is_the_last_one_measured_and_not_an_old_one(tea: Commission) -> None:
    measured(None, "room temperature", 18.0)
    measured(None, "room temperature", 21.0, at_h=5.0)
    measured(None, "room humidity", 0.55, at_h=5.0)
    found = read.climate(LONG_AGO + timedelta(hours=6))
    assert (found.temp_c, found.humidity) == (21.0, 0.55)
    assert read.climate(LONG_AGO + timedelta(days=30)).temp_c is None


def test_weigh_ins_teach_how_fast_ware_dries_here(tea: Commission) -> None:
    """Five weights of one marked piece down to two a day apart that agree: the pace of drying has one record."""
    board = begin(tea, 12)
    for at_h, grams in ((0.5, 480.0), (20.0, 440.0), (60.0, 400.0), (140.0, 381.0), (165.0, 380.8)):
        measured(None, "weigh-in", grams, at_h=at_h, board=board.code, piece="3", stage="thrown")
    figure = next(each for each in figures_on(THE_DAY) if each.group == "drying")
    assert figure.records == 1
    assert "5 weighings of Cup" in figure.seen[0].words


def test_pick_ups_at_the_bench_teach_how_much_a_dip_lays_on(tea: Commission) -> None:
    """Definition: gain over area; 11.4 g on 240 cm2 is 0.0475 g/cm2."""
    batch = _bucket()
    for gain in (11.2, 11.4, 11.6):
        measured(None, "pick-up", 300.0 + gain, before_g=300.0, bucket=batch.number, area_mm2=24_000.0, dwell_s=3.0)
    measured(None, "pick-up", 309.0, before_g=300.0, bucket=batch.number)  # of no known area: it teaches nothing
    figure = next(each for each in figures_on(THE_DAY) if each.group == "glaze")
    assert figure.records == 3
    assert sorted(each.value for each in figure.seen)[1] == pytest.approx(11.4 / 240.0)


def _bucket() -> GlazeBatch:
    recipe = GlazeRecipe.objects.create(name="White")
    version = RecipeVersion.objects.create(recipe=recipe, number=1, base=[], written=LONG_AGO)
    return GlazeBatch.objects.create(number=7, version=version, day=THE_DAY, wanted_gravity=1.45, dry_density=2.6)


def test_pieces_measured_wet_and_fired_plan_the_next_commission_of_their_clay(tea: Commission) -> None:
    """Wet = fired / (1 - shrinkage): the next plan's wet height is that of the shrinkage measured here, and says so."""
    _pairs(tea, 0.14, count=8)
    _pairs(tea, 0.125, what="mouth", count=8)
    plan = planned(commission(NEXT, "Next"))
    assert plan.clay.shrinkage_height.value == pytest.approx(0.14, abs=0.003)
    assert plan.clay.shrinkage_height.source == "yours, from 8 pieces"
    assert plan.clay.shrinkage_width.value == pytest.approx(0.125, abs=0.003)
    assert plan.forms[0].lengths["height"].wet_mm == pytest.approx(95.0 / (1.0 - plan.clay.shrinkage_height.value))


def test_what_was_agreed_is_a_fired_size_and_as_thrown_the_same_over_one_less_the_shrinkage(tea: Commission) -> None:
    """Definition; the brief gives 95 mm and no tolerance, the usual one is 3 mm (common practice)."""
    assert agreed_size(tea, "Cup", "height", "fired") == (92.0, 98.0)
    assert agreed_size(tea, "Cup", "height", "thrown") is None  # its brief states no shrinkage
    stated = commission(CUPS.replace('name = "Stoneware B"', 'name = "Stoneware B"\nshrinkage = "12 %"'), "Stated")
    assert agreed_size(stated, "Cup", "height", "thrown") == pytest.approx((92.0 / 0.88, 98.0 / 0.88))
    assert agreed_size(stated, "Cup", "foot", "thrown") is None
    assert agreed_size(stated, "Cup", "height", "bisque") is None
