"""The names that other programs may call stay where they are, and answer as they say."""

import io
from importlib.resources import files

import numpy as np
import pytest

from wareboard.clay.shrinkage import wet_length_mm
from wareboard.form.profile import standard
from wareboard.form.vessel import capacity_ml
from wareboard.glaze.expansion import linear_per_k
from wareboard.glaze.formula import analysis_wt, unity
from wareboard.glaze.material import shelf
from wareboard.glaze.recipe import Recipe
from wareboard.glaze.slip import dry_content_g
from wareboard.glaze.target import cheapest
from wareboard.kiln import load, log
from wareboard.kiln.cone import end_point_c, equivalent
from wareboard.plan import compile
from wareboard.plan.calendar import shortest_plan
from wareboard.plan.reading import read_brief
from wareboard.plan.result import Plan
from wareboard.plan.workshop import Workshop
from wareboard.quantities import length_mm, mass_g, temperature_c, volume_ml

DEMO = files("wareboard.commands").joinpath("demo.toml").read_text(encoding="utf-8")


def test_clay_kiln_and_quantities() -> None:
    assert wet_length_mm(80.0, 0.119) == pytest.approx(90.806, abs=5e-4)  # ASTM C326 style worked value
    assert end_point_c("6", 60.0) == end_point_c(6, 60.0, form="self-supporting") == 1222.0  # the published chart
    assert length_mm("5 1/2 in") == pytest.approx(139.7)
    assert mass_g("1 lb 2 oz") == pytest.approx(510.291, abs=1e-3)
    assert volume_ml("about 300 ml") == 300
    assert temperature_c("1945 F") == pytest.approx(1062.78, abs=0.01)


def test_a_history_of_temperature_tells_the_cone() -> None:
    hours = np.linspace(0, 20, 2000)
    found = equivalent(hours * 3600, 20 + hours * 60, form="self-supporting")
    assert found.cone
    assert found.low <= found.high
    assert found.bend("6") >= 0


def test_circles_on_shelves_and_logs() -> None:
    standing = load.most_that_fit(100.0, load.RoundShelf(300.0), clearance_mm=0.0, seconds=0.0)
    assert len(standing.centres_mm) == 7  # R/r = 3 holds seven: a proved packing
    assert standing.bound == 7
    assert len(load.most_that_fit(100.0, load.RectangularShelf(300.0, 200.0), seconds=0.0).centres_mm) == 6
    read = log.read(io.StringIO("time_s,temp_c\n0,20\n60,21\n120,22\n"))
    assert read.times_s.tolist() == [0, 60, 120]
    assert read.temps_c.ravel().tolist() == [20, 21, 22]


def test_glazes() -> None:
    recipe = Recipe("4-3-2-1", {"potash feldspar": 40, "silica / flint": 30, "whiting": 20, "kaolin": 10})
    oxides = analysis_wt(recipe, shelf())
    formula = unity(oxides)
    assert formula["SiO2"] == pytest.approx(3.71, abs=0.005)  # worked from the theoretical minerals
    assert linear_per_k(oxides, factor_set="appen") == pytest.approx(61.57e-7, abs=0.05e-7)
    assert dry_content_g(1000, 1.5, 2.5) == pytest.approx(833.3, abs=0.05)  # S. Altmann, Clayart archive
    found = cheapest(formula, {name: shelf()[name] for name in recipe.base})
    assert found.status == "exact"
    assert found.recipe is not None
    assert found.error == pytest.approx(0, abs=1e-6)


def test_the_shortest_plan_and_the_main_road() -> None:
    # Two jobs of 3 and 4 after one of 2, one pair of hands: 2 + 3 + 4.
    result = shortest_plan([2, 3, 4], [[1, 2], [], []], [[1], [1], [1]], [1])
    assert (result.makespan, result.bound, result.status) == (9, 9, "proved")
    plan = compile(read_brief(DEMO), Workshop(), seconds=1)
    assert isinstance(plan, Plan)
    assert capacity_ml(standard("cylinder", 95, 88, 88, None, 4, 5, rounded_lip=False)) > 0
