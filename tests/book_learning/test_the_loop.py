"""The whole way round: a commission made, recorded, and the next one planned by what was recorded."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from django.test import Client

from tests.book_learning.conftest import BY, CUPS, THE_DAY, commission, whole_way
from wareboard.book.learning.acting import Sat, keep_figures, leave_out, let_figures_go, new_lot, parted, write_time
from wareboard.book.models import Commission
from wareboard.errors import Problems, WareboardError
from wareboard.plan import compile
from wareboard.plan.own import NOTHING_LEARNED, Own, OwnFigure
from wareboard.plan.reading import read_brief
from wareboard.plan.result import Plan
from wareboard.plan.workshop import Workshop
from wareboard.studio import own_figures, plans
from wareboard.working import worked_out

MEASURED = "\n[[clay.measured]]\nwet = 100.0\nfired = 86.0\n" * 8
NEXT = CUPS.replace("[clay]", '[prices]\ncurrency = "EUR"\n\n[clay]')


def planned(of: Commission) -> Plan:
    assert of.paper.current is not None
    return plans.plan_of_version(of.paper.current, plans.basis())


def losing_workshop() -> Commission:
    """A commission in hand in which drying took a third of the cups, over and over."""
    first = commission(CUPS + MEASURED, "First")
    for number in range(12):
        whole_way(first, 12, {"drying": 4}, at_h=float(number))
    return first


def test_the_next_plan_leans_on_the_records_and_says_so(db: None) -> None:
    next_one = commission(CUPS.replace('name = "Stoneware B"', 'name = "Stoneware B"\nshrinkage = "12 %"'), "Next")
    before = planned(next_one)
    losing_workshop()
    after = planned(next_one)
    assert after.forms[0].start > before.forms[0].start
    noted = {each.key: each for each in after.assumed}["yield.cup.dried"]
    assert noted.learned is not None
    assert noted.source == "yours, from 12 boards"
    assert 8 / 12 < noted.value < 0.85  # between what was lost and the usual 97 %, and well on its way
    step = next(step for step in after.forms[0].steps if step.name == "expected after: dried")
    assert step.source == "yours, from 12 boards"
    told = [notice for notice in after.notices if "your records say" in notice.what]
    assert len(told) == 2  # the brief's 12 % stands against 14 % measured, in height and in width
    assert after.clay.shrinkage_height.value == before.clay.shrinkage_height.value


def test_a_clay_that_was_measured_before_needs_no_shrinkage_in_the_next_brief(db: None) -> None:
    next_one = commission(NEXT, "Next")
    with pytest.raises(WareboardError, match="shrinkage"):
        planned(next_one)
    losing_workshop()
    plan = planned(next_one)
    assert plan.clay.shrinkage_height.value == pytest.approx(0.14, abs=0.002)
    assert plan.clay.shrinkage_height.source == "yours, from 8 pieces"
    wet = plan.forms[0].lengths["height"].wet_mm
    assert wet == pytest.approx(95.0 / (1.0 - plan.clay.shrinkage_height.value))


def test_what_is_typed_in_the_workshop_file_wins(db: None, workshop_folder: Path) -> None:
    losing_workshop()
    next_one = commission(NEXT, "Next")
    (workshop_folder / "workshop.toml").write_text('[own.good]\n"cup.dried" = "96 %"\n')
    plan = planned(next_one)
    assert {stage.stage: stage.good_share for stage in plan.forms[0].yields}["dried"] == 0.96
    assert any("96 % was typed" in notice.what for notice in plan.notices)


def test_a_record_of_another_clay_leaves_a_kept_plan_alone_and_one_that_it_leans_on_does_not(db: None) -> None:
    losing_workshop()
    next_one = commission(NEXT, "Next")
    first = planned(next_one)
    commission((CUPS + MEASURED).replace("Stoneware B", "Porcelain"), "Other clay")
    assert planned(next_one) is first
    found = own_figures.figures_now(THE_DAY, plans.basis().workshop_text)
    own_clay = next(figure for figure in found if figure.key == "shrinkage.height/stoneware-b")
    leave_out(own_clay.seen[0].record, "read off the wrong mark", BY)
    assert planned(next_one) is not first


def test_headlines_are_worked_out_again_only_where_their_figures_moved(db: None) -> None:
    losing_workshop()
    next_one = commission(NEXT, "Next")
    version = next_one.paper.current
    assert version is not None
    kept = plans.headline_of(version, plans.basis())
    assert kept is not None
    assert plans.basis().holds(kept, next_one.paper_id)
    new_lot("yield.bowl.dried", THE_DAY, "no bowls here", BY)
    assert plans.basis().holds(kept, next_one.paper_id)
    new_lot("yield.cup.dried", THE_DAY, "a drying cupboard", BY)
    assert not plans.basis().holds(kept, next_one.paper_id)


def test_an_agreed_commission_keeps_the_figures_it_was_made_with_and_the_difference_is_told(db: None) -> None:
    losing_workshop()
    agreed = commission(NEXT, "Agreed")
    before = planned(agreed)
    keep_figures(agreed, plans.basis().own, THE_DAY, "sent to the client", BY)
    write_time(Sat("minutes.handle", 40, 400.0, THE_DAY), BY)
    new_lot("yield.cup.dried", THE_DAY, "a drying cupboard", BY)
    after = planned(agreed)
    assert after.forms[0].start == before.forms[0].start
    assert after.price.quote == before.price.quote
    now = plans.basis()
    apart = parted(now.kept[agreed.paper_id], now.own, sorted(after.leans))
    assert {each.key for each in apart} >= {"minutes.handle", "yield.cup.dried"}
    let_figures_go(agreed, BY)
    assert planned(agreed).forms[0].start < before.forms[0].start


def test_every_step_that_leans_on_a_learned_figure_works_out() -> None:
    """Each learned figure put in by hand; the energy and the drying are the usual ones times their factors."""

    def figure(key: str, value: float) -> OwnFigure:
        return OwnFigure(
            key, key, value, 0.9 * value, min(1.0, 1.1 * value) if value < 1 else 1.1 * value, "", "9 pieces", 0.9,
            1.0, 0.5, 1.5, "from-memory",
        )  # fmt: skip

    own = Own.of(
        [
            figure("shrinkage.height/stoneware-b", 0.13),
            figure("shrinkage.width/stoneware-b", 0.125),
            figure("shrinkage.height/stoneware-b/cup", 0.135),
            figure("drying.factor", 1.4),
            figure("kiln.energy_factor.glaze/kiln", 1.25),
            figure("kiln.hours_factor.glaze/kiln", 1.1),
            figure("glaze.dry_g_per_cm2/white", 0.08),
            figure("minutes.throw.cup", 3.0),
            figure("overage.correlation", 0.02),
        ]
    )
    workshop = Workshop(today=THE_DAY)
    brief = read_brief(CUPS, workshop, own=own)
    plain = read_brief(CUPS.replace('name = "Stoneware B"', 'shrinkage = "12 %"'), workshop)
    usual, ours = compile(plain, workshop, seconds=0.1), compile(brief, workshop, own=own, seconds=0.1)
    for step in ours.all_steps():
        if step.formula:
            assert worked_out(step.formula, step.inputs) == pytest.approx(step.value), step.key
    assert ours.forms[0].loss_height.fired == 0.135
    assert ours.forms[1].loss_height.fired == 0.13
    assert ours.forms[0].drying.leather_hard_h.value == pytest.approx(
        1.4 * usual.forms[0].drying.leather_hard_h.value, rel=0.02
    )
    by_duty = usual.glaze_firing.energy.check
    assert by_duty is not None
    assert ours.glaze_firing.energy.kwh == pytest.approx(1.25 * by_duty.value, rel=0.01)
    assert ours.glaze_firing.heating_h == pytest.approx(1.1 * ours.glaze_firing.schedule.heating_h)
    assert ours.bisque.energy.kwh == pytest.approx(usual.bisque.energy.kwh, rel=0.01)  # the wet wall differs a little
    assert ours.glazes[0].need.dry_g > usual.glazes[0].need.dry_g
    assert ours.forms[0].minutes["throw"].value == 3.0
    assert ours.forms[0].overage.correlation == 0.02
    assert {each.learned.key for each in ours.learned if each.learned} == set(own.figures)
    assert usual.learned == ()


def test_a_named_clay_without_records_is_refused_when_it_is_planned() -> None:
    with pytest.raises(Problems, match="shrinkage"):
        read_brief(CUPS, own=NOTHING_LEARNED)
    with pytest.raises(WareboardError, match="shrinkage"):
        compile(read_brief(CUPS, clay_from_records=True))


@pytest.mark.django_db(transaction=True)
def test_the_command_plans_by_the_records_beside_the_brief_and_can_leave_them_out(tmp_path: Path) -> None:
    """In a process of its own, as a person runs it, on a folder whose studio has recorded boards."""
    script = (
        "import os, sys; from pathlib import Path; from wareboard.studio.serve import make_ready; "
        "make_ready(Path(sys.argv[1])); "
        "from tests.book_learning.test_the_loop import losing_workshop; losing_workshop()"
    )
    environ = {**os.environ, "WAREBOARD_FOLDER": str(tmp_path)}
    environ.pop("DJANGO_SETTINGS_MODULE", None)
    subprocess.run([sys.executable, "-c", script, str(tmp_path)], check=True, env=environ, capture_output=True)
    brief = tmp_path / "next.toml"
    brief.write_text(CUPS.replace('name = "Stoneware B"', 'name = "Stoneware B"\nshrinkage = "14 %"'))
    run = [sys.executable, "-m", "wareboard", "plan", str(brief), "--today", "2026-11-25", "--seconds", "0.1"]
    ours = subprocess.run(run, check=True, env=environ, capture_output=True, text=True).stdout
    usual = subprocess.run([*run, "--no-records"], check=True, env=environ, capture_output=True, text=True).stdout
    assert "cups good after drying: yours:" in ours
    assert "from 12 boards; usual: 97 % (93 % to 99 %)" in ours
    assert "yours" not in usual


def test_the_assumed_page_says_which_figures_are_yours(db: None) -> None:
    losing_workshop()
    next_one = commission(NEXT, "Next")
    page = Client().get(f"/commissions/{next_one.code}/assumed/").content.decode()
    assert "Yours, from 12 boards" in page


def test_a_day_on_which_nothing_is_recorded_teaches_nothing(db: None) -> None:
    assert replace(plans.basis(), day=THE_DAY).own.figures == {}


def test_air_typed_in_the_workshop_file_wins_over_the_learned_pace() -> None:
    """Damp air by the published factor, whatever the weighings said; left out, the weighings count."""
    from wareboard.clay.drying import rough_drying

    factor = OwnFigure("drying.factor", "pace", 2.0, 1.8, 2.2, "", "9 boards", 0.9, 1.0, 0.45, 1.9, "from-memory")
    brief = read_brief(CUPS.replace('name = "Stoneware B"', 'shrinkage = "12 %"'))
    own = Own.of([factor])
    by_weight = compile(brief, Workshop(today=THE_DAY), own=own, seconds=0.1).forms[0].drying
    damp = compile(brief, Workshop(today=THE_DAY, drying_air="damp"), own=own, seconds=0.1).forms[0].drying
    thick = 7.0 / 0.88  # the handle's usual thickness, wet
    usual_h = rough_drying(thick, "open").leather_hard_h.value
    assert by_weight.leather_hard_h.value == pytest.approx(2.0 * usual_h)
    assert damp.leather_hard_h.value == pytest.approx(rough_drying(thick, "open", "damp").leather_hard_h.value)
