"""The price of a job from its parts: minutes and losses by stage, clay, glazes, firings, rates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from wareboard.plan.assume import Assumer
from wareboard.plan.brief import Brief
from wareboard.plan.equipment import total
from wareboard.plan.price import FiringCost, FormWork, Material, Price, Rates, StageWork, price
from wareboard.plan.result import FiringPlan, FormPlan, GlazePlan
from wareboard.plan.workshop import Prices
from wareboard.working import Estimate

# The stage whose losses a task comes before: a cup that cracks in drying has been thrown, handled and carved.
TASKS_AT: Mapping[str, tuple[str, ...]] = {
    "thrown": ("weigh", "throw", "trim", "lid", "spout"),
    "handled": ("handle",),
    "dried": ("mark",),
    "glazed": ("sand", "liner", "dip", "paint"),
    "fired": ("grind",),
}
NOTHING = Estimate(0.0, 0.0, 0.0, "definition")
ALL_GOOD = Estimate(1.0, 1.0, 1.0, "definition")


def price_of(
    brief: Brief,
    forms: Sequence[FormPlan],
    glazes: Sequence[GlazePlan],
    firings: Sequence[FiringPlan],
    prices: Prices,
    assume: Assumer,
) -> Price:
    """What the job costs, what to ask, and the deposit; see `wareboard.plan.price.price`."""
    mixing = assume.figure("minutes.mix_glaze")
    letters = assume.figure("prices.besides_hours")
    mixed = sum(1 for glaze in glazes if glaze.glaze.recipe)
    besides = Estimate(
        letters.value + mixed * mixing.value / 60,
        letters.low + mixed * mixing.low / 60,
        letters.high + mixed * mixing.high / 60,
        letters.source,
    )
    rates = Rates(
        currency=prices.currency or "",
        wage_per_hour=prices.wage_per_hour or Decimal(0),
        energy_per_kwh=prices.energy_per_kwh or Decimal(0),
        packing_each=prices.packing_per_piece or Decimal(0),
        overhead_share=prices.overhead or 0.0,
        margin_share=prices.margin or 0.0,
        deposit_share=prices.deposit or 0.0,
        development_hours=assume.figure("prices.prototype_hours", prices.prototype_hours),
        hours_besides=besides,
    )
    return price(
        [_work(form, glazes, firings, prices, assume) for form in forms],
        [_cost(firing, assume) for firing in firings],
        rates,
        agreed_price=brief.agreed_price,
    )


def _work(
    form: FormPlan, glazes: Sequence[GlazePlan], firings: Sequence[FiringPlan], prices: Prices, assume: Assumer
) -> FormWork:
    stages = [
        StageWork(
            stage.stage,
            _minutes(form, TASKS_AT.get(stage.stage, ())),
            Estimate(stage.good_share, stage.low, stage.high, stage.source),
        )
        for stage in form.yields
    ]
    stages.append(StageWork("packed", _minutes(form, ("pack",)), ALL_GOOD))
    clay = Material("clay", "thrown", _clay_g(form, assume), prices.clay_per_kg or Decimal(0))
    worn = [
        Material("glaze", "glazed", _glaze_g(glaze, form), prices.glaze_per_kg or Decimal(0))
        for glaze in glazes
        if form.name in glaze.areas_mm2
    ]
    return FormWork(
        form.name,
        form.form.count,
        tuple(stages),
        (clay, *worn),
        started=form.start,
        per_load={firing.kind: float(firing.loads.pieces_in_a_load(form.name)) for firing in firings},
        ball_g=form.ball_g,
    )


def _minutes(form: FormPlan, tasks: Sequence[str]) -> Estimate:
    found = [form.minutes[task] for task in tasks if task in form.minutes]
    if not found:
        return NOTHING
    source = found[0].source
    return Estimate(sum(e.value for e in found), sum(e.low for e in found), sum(e.high for e in found), source)


def _clay_g(form: FormPlan, assume: Assumer) -> Estimate:
    """Clay bought for one piece: ball, handle and lid, and what goes to the floor."""
    lost = assume.figure("clay.lost_share")
    rest = (form.handle_blank_g or 0.0) + (form.lid_ball_g or 0.0) + (form.poured.spout_ball_g or 0.0)
    ends = (form.ball_g, form.ball.low_g or form.ball_g, form.ball.high_g or form.ball_g)
    value, low, high = (max(0.0, ball + rest) / (1 - lost.value) for ball in ends)
    return Estimate(value, min(low, value), max(high, value), form.ball.steps[-1].source)


def _glaze_g(glaze: GlazePlan, form: FormPlan) -> Estimate:
    """Dry glaze mixed for one piece of a form: its share, by area, of all that is mixed."""
    dry = glaze.need.dry
    share = glaze.share_of_one(form.name)
    return Estimate(dry.value * share, dry.low * share, dry.high * share, dry.source)


def _cost(firing: FiringPlan, assume: Assumer) -> FiringCost:
    """The mean load of a kind of firing, so that all of them cost what they cost, each in its own kiln."""
    homes = [firing.home(number) for number in range(1, firing.firings + 1)] or [firing.home(1)]
    kwh, low, high = (sum(getattr(home.energy, end) for home in homes) / len(homes) for end in ("kwh", "low", "high"))
    loading, unloading = assume.figure(f"minutes.load_{firing.kind}"), assume.figure("minutes.unload")
    return FiringCost(
        firing.kind,
        "bisque" if firing.kind == "bisque" else "fired",
        firing.firings,
        Estimate(kwh, low, high, firing.energy.steps[-1].source),
        total(home.kiln.wear_per_firing or Decimal(0) for home in homes) / len(homes),
        Estimate(
            loading.value + unloading.value, loading.low + unloading.low, loading.high + unloading.high, loading.source
        ),
    )
