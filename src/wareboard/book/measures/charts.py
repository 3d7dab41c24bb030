"""Run charts, capability and studies of the gauge from what was measured; agreed sizes from the brief."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from wareboard import reference
from wareboard.book.boards.models import STANDS, Board, Entry
from wareboard.book.learning.briefs import facts_of
from wareboard.book.measures.models import Measurement
from wareboard.book.measures.what import CHARTED, FOOT, HEIGHT, MOUTH, WEIGHT, WIDTH, what
from wareboard.book.models import Commission
from wareboard.book.reckoning.run_rules import STOP
from wareboard.errors import WareboardError
from wareboard.plan.brief import Clay

MOST_CHARTED = 120
# Limits are set by the first pieces once there are so many: a drift must not set its own limits.
# Source: nist-handbook, 20 to 25.
SET_BY = 20
LEAST_GROUPS = 4
WEIGHED_OF_MANY = ("ball",)  # at the wheel every ball on the board is weighed; later it is one piece that dries
FIRED_STAGES = ("fired", "ground", "packed")
TO_FORM = {HEIGHT: "height", MOUTH: "rim", FOOT: "foot", WIDTH: "belly"}


@dataclass(frozen=True, slots=True)
class Read:
    """One reading of a run: its value, what it is called on the chart, and the board it is of."""

    value: float
    label: str
    board: int | None


@dataclass(frozen=True, slots=True)
class RunStanding:
    """What a run says right now: how many readings, whether to stop, and in which words."""

    count: int
    stop: bool
    words: str


def run_of(commission: Commission, form: str, name: str, stage: str, most: int = MOST_CHARTED) -> list[Read]:
    """The latest readings of a run in the order in which they were made."""
    rows = Measurement.objects.filter(commission=commission, form=form, what=name, stage=stage, stands=True)
    found = [
        (row.happened, row.pk, Read(row.value, row.piece, row.board_id))
        for row in rows.order_by("-id").only("happened", "value", "piece", "board_id")[:most]
    ]
    if name == WEIGHT and stage in WEIGHED_OF_MANY:
        boards = Board.objects.filter(commission=commission, form=form).values("pk")
        weighed = Entry.objects.filter(
            kind="weigh", board__in=boards, stage_from=stage, standing=STANDS, undone_by=None
        )
        found += [
            (row.happened, row.pk, Read(float(row.grams), "", row.board_id))
            for row in weighed.order_by("-pk")[:most]
            if row.grams
        ]
    ordered = [each for _, _, each in sorted(found, key=lambda each: each[:2])][-most:]
    return [Read(each.value, each.label or str(place), each.board) for place, each in enumerate(ordered, 1)]


def agreed_size(commission: Commission, form: str, name: str, stage: str) -> tuple[float, float] | None:
    """Lowest and highest that was agreed, mm; None where nothing was, or where the stage lies between wet and fired.

    A fired size of the brief with its tolerance (the usual one where the brief gives none); as thrown, both over one less
    the shrinkage that the brief states. Source: definition of linear shrinkage on the plastic length.
    """
    brief = facts_of(commission).brief
    found = next((each for each in brief.forms if each.name == form), None) if brief else None
    if brief is None or found is None or name not in TO_FORM:
        return None
    size = getattr(found, TO_FORM[name])
    grown = _grown(brief.clay, name, stage)
    if size is None or grown is None:
        return None
    half = found.height_tolerance if name == HEIGHT else found.width_tolerance
    if half is None:
        half = reference.default(f"tolerance.{'height' if name == HEIGHT else 'width'}_mm").value
    return (size - half) * grown, (size + half) * grown


def _grown(clay: Clay, name: str, stage: str) -> float | None:
    """How much larger than fired a size is at a stage; None where that is not known, or a foot is not cut yet."""
    if stage in FIRED_STAGES:
        return 1.0
    if stage != "thrown" or name == FOOT:
        return None
    own = clay.shrinkage_height if name == HEIGHT else clay.shrinkage_width
    shrinkage = clay.shrinkage if own is None else own
    return None if shrinkage is None else 1.0 / (1.0 - shrinkage)


def run_chart_of(name: str, run: Sequence[Read], agreed: tuple[float, float] | None):  # type: ignore[no-untyped-def]
    """The run's chart of single pieces and their moving range.

    Raises:
        OutOfRange: if there are too few readings, or all are alike.
    """
    from wareboard.book.reckoning.run_chart import individuals_chart

    known = what(name)
    set_by = SET_BY if len(run) > SET_BY else None
    values, labels = [each.value for each in run], _apart([each.label for each in run])
    return individuals_chart(known.words, values, known.unit, labels, set_by, agreed)


def grouped_chart_of(name: str, run: Sequence[Read], agreed: tuple[float, float] | None):  # type: ignore[no-untyped-def]
    """The run's means and ranges board by board; None where fewer than four boards were measured alike.

    Of each board count the first so many, where so many is what most boards have.
    """
    from wareboard.book.reckoning.run_chart import mean_and_range_chart

    by_board: dict[int, list[float]] = {}
    for each in run:
        if each.board is not None:
            by_board.setdefault(each.board, []).append(each.value)
    sizes = Counter(len(values) for values in by_board.values() if len(values) > 1)
    if not sizes:
        return None
    size = min(sizes.most_common(1)[0][0], 25)
    groups = {board: values[:size] for board, values in by_board.items() if len(values) >= size}
    if len(groups) < LEAST_GROUPS:
        return None
    codes = dict(Board.objects.filter(pk__in=list(groups)).values_list("pk", "code"))
    known = what(name)
    labels = [codes[board] for board in groups]
    return mean_and_range_chart(known.words, list(groups.values()), known.unit, labels, None, agreed)


def standing_run(commission: Commission, form: str, name: str, stage: str) -> RunStanding | None:
    """What the run says while it is being measured; None where it has no chart yet.

    Only what the last few readings say asks to stop: a signal of last week has been answered.
    """
    if name not in CHARTED:
        return None
    run = run_of(commission, form, name, stage)
    try:
        chart = run_chart_of(name, run, agreed_size(commission, form, name, stage))
    except WareboardError:
        return None
    last = len(run) - 1
    now = [signal for signal in chart.signals if signal.at == last]
    stops = [signal for signal in now if signal.asks == STOP]
    if stops:
        return RunStanding(len(run), True, f"Stop and re-gauge: {'; '.join(dict.fromkeys(s.words for s in stops))}.")
    if now:
        return RunStanding(len(run), False, f"Look: {'; '.join(dict.fromkeys(signal.words for signal in now))}.")
    return RunStanding(len(run), False, "Carry on: the last piece lies within its limits.")


def _apart(labels: Sequence[str]) -> list[str]:
    """Labels of which no two are the same, as a piece may be measured twice."""
    seen: Counter[str] = Counter()
    found = []
    for label in labels:
        seen[label] += 1
        found.append(label if seen[label] == 1 else f"{label}/{seen[label]}")
    return found
