"""Figures from the book's records: which records they hold, how cautious they are, what leaving out and new lots do."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.book_learning.conftest import BY, CUPS, THE_DAY, begin, commission, do, move, whole_way
from wareboard.book.firings.models import Firing, Kiln
from wareboard.book.glazes.models import GlazeBatch, GlazeRecipe, RecipeVersion, TiedGlaze, WeighedPiece
from wareboard.book.learning.acting import Sat, leave_out, new_lot, put_back, write_time
from wareboard.book.learning.figures import Figure
from wareboard.book.learning.models import LeftOut
from wareboard.book.learning.own import figures_on, own_of
from wareboard.book.models import Commission
from wareboard.errors import OutOfRange, Unreadable
from wareboard.plan.own import Own
from wareboard.plan.workshop import Workshop
from wareboard.reference import default
from wareboard.working import worked_out

MEASURED = "\n[[clay.measured]]\nwet = 100.0\nfired = 87.5\n" * 6


def by_key(day: date = THE_DAY) -> dict[str, Figure]:
    return {figure.key: figure for figure in figures_on(day)}


def source_of(figure: Figure) -> str:
    own = figure.own()
    assert own is not None
    return own.source


def test_boards_of_one_firing_are_one_load_and_others_stand_alone(tea: Commission) -> None:
    whole_way(tea, 20, {"bisque": 2, "drying": 1})
    whole_way(tea, 10, {"drying": 1})
    found = by_key()
    assert [(each.started, each.good) for each in found["yield.cup.bisque"].seen] == [(28 + 0, 26)]
    assert sorted((each.started, each.good) for each in found["yield.cup.dried"].seen) == [(10, 9), (20, 19)]


def test_three_records_do_not_shout_and_thirty_are_heard(tea: Commission) -> None:
    """Three whole boards of plates move the usual 0.95 little; thirty boards that lose a third move it near the truth."""
    for number in range(3):
        whole_way(tea, 6, {}, "Plate", at_h=number)
    few = by_key()["yield.plate.dried"]
    assert default("yield.plate.dried").low < few.learned.mean.value <= default("yield.plate.dried").high
    assert source_of(few).startswith("the usual figure, moved by 3 boards")
    for number in range(30):
        whole_way(tea, 12, {"drying": 4}, "Plate", at_h=10.0 + number)
    many = by_key()["yield.plate.dried"]
    assert many.learned.mean.value == pytest.approx(0.69, abs=0.05)  # (18 + 240) / (18 + 360) = 0.683, drawn to 0.95
    assert source_of(many) == "yours, from 33 boards"
    together = by_key()["overage.correlation"]
    assert 0.0 <= together.learned.mean.low <= together.learned.mean.value <= together.learned.mean.high < 0.3


def test_a_record_left_out_counts_no_longer_and_counts_again_when_put_back(tea: Commission) -> None:
    whole_way(tea, 20, {"drying": 10})
    for number in range(4):
        whole_way(tea, 20, {}, at_h=1.0 + number)
    before = by_key()["yield.cup.dried"]
    odd = min(before.seen, key=lambda each: each.value)
    leave_out(odd.record, "frost in the cellar", BY)
    without = by_key()["yield.cup.dried"]
    assert without.records == before.records - 1
    assert without.learned.mean.value > before.learned.mean.value
    assert next(each for each in without.seen if not each.counts).left_out.why == "frost in the cellar"
    put_back(odd.record, BY)
    assert by_key()["yield.cup.dried"].learned.mean == before.learned.mean
    leave_out(odd.record, "after all", BY)
    assert LeftOut.objects.count() == 1
    with pytest.raises(Unreadable, match="without a reason"):
        leave_out(odd.record, "  ", BY)


def test_old_records_fade_by_half_in_a_year_and_a_new_lot_starts_afresh(tea: Commission) -> None:
    board = whole_way(tea, 20, {"drying": 5})
    new = by_key()["yield.cup.dried"]
    later = by_key(THE_DAY + timedelta(days=365))["yield.cup.dried"]
    assert later.seen[0].weight == pytest.approx(0.5 * new.seen[0].weight)
    assert abs(later.learned.mean.value - 0.97) < abs(new.learned.mean.value - 0.97)
    new_lot("yield.cup.dried", THE_DAY - timedelta(days=1), "a drying cupboard", BY)
    fresh = by_key()["yield.cup.dried"]
    assert fresh.learned.records == 0
    assert fresh.seen[0].before_this_lot
    assert fresh.learned.mean.value == default("yield.cup.dried").value
    assert board.code in fresh.seen[0].words


def test_shrinkage_is_learned_by_clay_and_direction_and_a_form_leans_on_its_clay(db: None) -> None:
    """Six bars of 100 to 87.5 mm are 12.5 %; the usual 12 % with its range weighs next to nothing against them."""
    form = '\n[[forms.measured]]\nwet = 100.0\nfired = 86.0\ndirection = "height"\n'
    commission(CUPS.replace("handle = {}\n", "handle = {}\n" + form) + MEASURED)
    found = by_key()
    clay = found["shrinkage.height/stoneware-b"]
    assert clay.records == 7
    assert clay.learned.mean.value == pytest.approx(0.127, abs=0.002)
    width = found["shrinkage.width/stoneware-b"]
    assert width.learned.mean.value == pytest.approx(0.125, abs=0.001)
    cup = found["shrinkage.height/stoneware-b/cup"]
    assert cup.records == 1
    assert 0.125 < cup.learned.mean.value < 0.14
    assert cup.prior.source == "the clay's own, from 6 pieces"


def test_a_new_lot_of_clay_leans_on_the_lots_before_it_and_is_less_sure(db: None) -> None:
    commission(CUPS + MEASURED)
    before = by_key()["shrinkage.height/stoneware-b"].learned
    new_lot("shrinkage.height/stoneware-b", THE_DAY, "lot 27", BY)
    after = by_key()["shrinkage.height/stoneware-b"].learned
    assert after.mean.value == pytest.approx(before.mean.value, abs=0.002)
    assert after.mean.high - after.mean.low > 1.5 * (before.mean.high - before.mean.low)


def test_minutes_come_from_boards_moved_one_after_the_other_and_from_times_written_down(tea: Commission) -> None:
    """By hand: board two of 20 came to trimmed 50 minutes after board one, by the same hands: 2.5 minutes each."""
    one, two, three = begin(tea, 20, who="Ben"), begin(tea, 20, at_h=5, who="Cleo"), begin(tea, 20, at_h=9, who="Dot")
    move(one, "trimmed", 24.0)
    move(two, "trimmed", 24.0 + 50 / 60)
    move(three, "trimmed", 31.0)  # 6 hours later: something came between
    write_time(Sat("minutes.handle", 24, 96.0, THE_DAY, "Ada"), BY)
    found = by_key()
    assert [each.value for each in found["minutes.trim.cup"].seen] == [pytest.approx(2.5)]
    assert [each.value for each in found["minutes.handle"].seen] == [pytest.approx(4.0)]
    assert found["minutes.handle"].learned.mean.value < default("minutes.handle").value
    with pytest.raises(OutOfRange, match="0 pieces"):
        write_time(Sat("minutes.handle", 0, 10.0, THE_DAY), BY)


def test_pick_up_is_learned_by_glaze_from_pieces_weighed_before_and_after(tea: Commission) -> None:
    """By hand: 21 g more on 300 cm2 are 0.07 g/cm2."""
    recipe = GlazeRecipe.objects.create(name="White")
    version = RecipeVersion.objects.create(recipe=recipe, number=1, base=[], written=BY.when)
    batch = GlazeBatch.objects.create(number=1, version=version, day=THE_DAY, wanted_gravity=1.45, dry_density=2.6)
    for _ in range(8):
        WeighedPiece.objects.create(
            batch=batch, day=THE_DAY, dwell_s=3.0, before_g=300.0, after_g=321.0, area_mm2=30000.0, gravity=1.45
        )
    found = by_key()["glaze.dry_g_per_cm2/white"]
    assert found.seen[0].value == pytest.approx(0.07)
    assert found.learned.mean.value == pytest.approx(0.07, abs=0.002)


def test_a_briefs_glaze_that_is_tied_to_a_recipe_learns_from_its_pieces(tea: Commission) -> None:
    """The same 0.07 g/cm2 by another name; a name that is tied to two recipes learns from neither."""
    batches = []
    for number, name in enumerate(("Moor white", "Peat"), start=1):
        recipe = GlazeRecipe.objects.create(name=name)
        version = RecipeVersion.objects.create(recipe=recipe, number=1, base=[], written=BY.when)
        about = {"version": version, "day": THE_DAY, "wanted_gravity": 1.45, "dry_density": 2.6}
        batches.append(GlazeBatch.objects.create(number=number, **about))
    WeighedPiece.objects.create(
        batch=batches[0], day=THE_DAY, dwell_s=3.0, before_g=300.0, after_g=321.0, area_mm2=30000.0, gravity=1.45
    )
    TiedGlaze.objects.create(commission_code="A", glaze="Liner", version=batches[0].version)
    assert by_key()["glaze.dry_g_per_cm2/liner"].seen[0].value == pytest.approx(0.07)
    TiedGlaze.objects.create(commission_code="B", glaze="Liner", version=batches[1].version)
    assert "glaze.dry_g_per_cm2/liner" not in by_key()


def test_a_kilns_energy_is_learned_over_the_usual_reckoning(db: None) -> None:
    """A meter that says 1.2 times the duty method eight times over is held to be 1.2, whatever the plate says."""
    from wareboard.kiln.energy import firing_energy
    from wareboard.kiln.schedule import bisque_schedule

    reckoned = firing_energy(8.0, bisque_schedule("04", 6.0)).kwh
    kiln = Kiln.objects.create(name="Big one", slug="big-one")
    for number in range(1, 9):
        Firing.objects.create(
            kiln=kiln, number=number, kind="bisque", cone="04", day=THE_DAY, kwh=1.2 * reckoned, commission_code=""
        )
    shop = Workshop.model_validate({"kilns": [{"name": "Big one", "power_kw": 8}]})
    found = {figure.key: figure for figure in figures_on(THE_DAY, shop)}["kiln.energy_factor.bisque/big-one"]
    assert [each.value for each in found.seen] == pytest.approx([1.2] * 8)
    assert found.learned.mean.value == pytest.approx(1.2, abs=0.02)


def test_what_held_the_cooling_back_is_no_part_of_what_a_meter_teaches(db: None) -> None:
    """By hand: a meter that read 0.9 times the duty method and besides what the model says held the cooling back is 0.9."""
    from wareboard.book.firings.kiln_model import estimated, whole
    from wareboard.book.firings.log_summary import schedule_data
    from wareboard.kiln.energy import firing_energy
    from wareboard.kiln.held_cooling import held_cooling
    from wareboard.kiln.schedule import glaze_schedule

    shop = Workshop.model_validate({"kilns": [{"name": "Big one", "power_kw": 8}]})
    made = glaze_schedule("6", slow_cool=True)
    held = held_cooling(estimated(whole(shop.kilns[0])).model, made).kwh
    assert held > 1.0
    kiln = Kiln.objects.create(name="Big one", slug="big-one")
    for number in range(1, 4):
        Firing.objects.create(
            kiln=kiln, number=number, kind="glaze", cone="6", day=THE_DAY, commission_code="", schedule=schedule_data(made),
            kwh=0.9 * firing_energy(8.0, made).kwh + held,
        )  # fmt: skip
    found = {figure.key: figure for figure in figures_on(THE_DAY, shop)}["kiln.energy_factor.glaze/big-one"]
    assert [each.value for each in found.seen] == pytest.approx([0.9] * 3, abs=0.005)
    assert "hold the cooling back" in found.seen[0].words


def test_the_pace_of_drying_is_learned_from_weighings_of_a_board(tea: Commission) -> None:
    """Weights that fall in a straight line over 48 h and stand still from then: 48 h over the rough rule's."""
    from wareboard.book.learning.briefs import facts_of
    from wareboard.clay.drying import rough_drying

    board = begin(tea, 12)
    for hours, grams in ((0.0, 400.0), (12.0, 380.0), (24.0, 360.0), (48.0, 320.0), (72.0, 320.0)):
        do("weigh", board, hours, grams=grams)
    form = facts_of(tea).forms["Cup"]
    rough = rough_drying(form.thickest_wet_mm, cover="open").bone_dry_days.value * 24.0
    found = by_key()["drying.factor"]
    assert found.seen[0].value == pytest.approx(48.0 / rough)


def test_every_step_of_a_learned_figure_works_out(tea: Commission) -> None:
    whole_way(tea, 20, {"drying": 3})
    for figure in figures_on(THE_DAY):
        for step in figure.learned.steps:
            if step.formula:
                assert worked_out(step.formula, step.inputs) == pytest.approx(step.value), (figure.key, step.name)
            assert step.formula or step.how


def test_figures_go_to_plain_data_and_come_back_the_same(tea: Commission) -> None:
    whole_way(tea, 20, {"drying": 3})
    own = own_of(figures_on(THE_DAY))
    assert own.figures
    back = Own.from_plain(own.as_plain())
    assert back.print == own.print
    assert back.agrees({key: own.print_of(key) for key in [*own.figures, "yield.bowl.dried"]})


def test_a_form_leans_on_the_others_of_its_kind_and_its_plan_takes_its_own(db: None) -> None:
    """Tall cups lose half in drying, low ones nothing: each form's figure lies on its own side of the kind's."""
    from wareboard.plan import compile
    from wareboard.plan.reading import read_brief

    two = CUPS.replace(
        "[clay]", '[[forms]]\nname = "Tall cup"\ncount = 24\nheight = "140 mm"\nrim = "80 mm"\nhandle = {}\n\n[clay]'
    ).replace('name = "Stoneware B"', 'shrinkage = "12 %"')
    both = commission(two)
    for number in range(6):
        whole_way(both, 12, {"drying": 6}, "Tall cup", at_h=float(number))
        whole_way(both, 12, {}, "Cup", at_h=float(number))
    found = by_key()
    low, kind, tall = (
        found[key].learned.mean.value for key in ("yield.cup.dried/cup", "yield.cup.dried", "yield.cup.dried/tall-cup")
    )
    assert tall < kind < low
    assert found["yield.cup.dried/cup"].prior.source.startswith("other forms of its kind, from 6 boards")
    plan = compile(read_brief(two), own=own_of(list(found.values())), seconds=0.1)
    cup, _, tall_cup = plan.forms
    assert {each.stage: each.good_share for each in cup.yields}["dried"] == pytest.approx(low)
    assert {each.stage: each.good_share for each in tall_cup.yields}["dried"] == pytest.approx(tall)
    assert tall_cup.start > cup.start


def test_a_kilns_hours_are_learned_over_its_schedules(db: None) -> None:
    """By hand: the top reached after 9.9 h, 54 minutes late: 9 h were planned, 1.1 times."""
    from wareboard.book.firings.models import FiringLog, KeptFile

    kiln = Kiln.objects.create(name="Big one", slug="big-one")
    file = KeptFile.objects.create(name="a.csv", kind="text/csv", digest="0", size=0, content=b"", written=BY.when)
    steps = [
        {"planned": {"target": 600.0}, "reached_h": 4.0, "late_min": 0.0},
        {"planned": {"target": 1222.0}, "reached_h": 9.9, "late_min": 54.0},
        {"planned": {"target": 900.0}, "reached_h": None, "late_min": None},
    ]
    for number in range(1, 7):
        firing = Firing.objects.create(kiln=kiln, number=number, kind="glaze", cone="6", day=THE_DAY)
        FiringLog.objects.create(firing=firing, file=file, summary={"channels": [{"met": steps}]}, written=BY.when)
    found = by_key()["kiln.hours_factor.glaze/big-one"]
    assert [each.value for each in found.seen] == pytest.approx([1.1] * 6)
    assert found.learned.mean.value == pytest.approx(1.1, abs=0.01)


def test_a_brief_ordered_again_does_not_teach_its_measures_twice(db: None) -> None:
    """One bar is one bar, however often its brief is copied; a second bar in the copy counts."""
    bar = "\n[[clay.measured]]\nwet = 100.0\nfired = 87.5\n"
    commission(CUPS + bar)
    once = by_key()
    commission(CUPS + bar)
    twice = by_key()
    key = next(each for each in once if each.startswith("shrinkage.height"))
    assert (once[key].records, twice[key].records) == (1, 1)
    assert once[key].learned.mean == twice[key].learned.mean
    commission(CUPS + bar + bar)
    assert by_key()[key].records == 2
