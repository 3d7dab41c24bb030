"""The day's work: what to do now, in which order, why each, and what waits; from the boards and the plans of all in hand.

The order: first what will not keep (leather-hard ware, ware under cover too long), then the kiln, since every piece must go
through it twice, then whatever has the fewest days to spare before its commission's date.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from wareboard import reference
from wareboard.book.boards.ahead import WAITS_FOR, Leg, Lot, legs_of, next_leg, pace, ready_at, way_left_h
from wareboard.book.boards.counting import lot_of
from wareboard.book.boards.models import Board
from wareboard.book.boards.stages import IN_KILN, ORDER, WORDS, WRAPPED
from wareboard.plan.result import slug
from wareboard.plan.tasks import COVERED_OVERNIGHT_H
from wareboard.quantities import show_duration, show_mass
from wareboard.studio import words
from wareboard.studio.bench.standing import InHand

if TYPE_CHECKING:
    from wareboard.plan.result import FormPlan

NOW_OR_NEVER, KILN, THEN = 0, 1, 2
TURNED_EVERY = timedelta(hours=24)  # common practice for flat ware
FULL_ENOUGH = 0.85  # common practice: a load that is nearly full is not kept waiting
NO_DAYS_TO_LOSE = 2.0
MIX_AHEAD_H = 72.0
WILL_NOT_KEEP = ("trimmed", "handled", "marked")
KILN_LEGS = {"bisque": "Load the bisque", "fired": "Load the glaze firing"}


@dataclass(slots=True)
class Job:
    """Something to do today: on which boards, why, how long, with how many days to spare."""

    what: str
    why: str
    rank: int
    spare: float
    commission: str
    code: str  # of the commission
    boards: list[Board] = field(default_factory=list)
    kind: str = ""  # the entry that one tap makes for each board
    to: str = ""
    minutes: float = 0.0
    tick: str = ""

    @property
    def how_long(self) -> str:
        return show_duration(round(self.minutes / 5) * 300.0) if self.minutes >= 5 else ""

    @property
    def to_spare(self) -> str:
        days = int(self.spare // 1)
        if days < 0:
            return f"{words.in_days(-days)} late already"
        return "no day to spare" if days == 0 else f"{words.in_days(days)} to spare"


@dataclass(frozen=True, slots=True)
class Wait:
    """Something that cannot be done yet: what, and until when."""

    what: str
    until: str
    commission: str
    when: datetime


@dataclass(frozen=True, slots=True)
class DaysWork:
    """The jobs in their order, and what waits."""

    jobs: tuple[Job, ...]
    waits: tuple[Wait, ...]


def days_work(there: Iterable[InHand], ticked: set[tuple[str, str]], now: datetime) -> DaysWork:
    """What to do today and what waits.

    Args:
        there: the commissions in hand as they stand.
        ticked: commission's code and name of what was ticked off and belongs to no board.
        now: this moment in the workshop's own zone.
    """
    rows = [each for each in there if each.plan is not None]
    busy = _kilns_busy(rows, now)
    jobs: list[Job] = []
    waits: list[Wait] = []
    for each in rows:
        one = _Commission(each, now, busy)
        one.run(ticked)
        jobs += one.jobs
        waits += one.waits
    return DaysWork(
        tuple(sorted(jobs, key=lambda job: (job.rank, job.spare, job.commission, job.what))),
        tuple(sorted(waits, key=lambda wait: (wait.when, wait.commission, wait.what))),
    )


def _kilns_busy(rows: list[InHand], now: datetime) -> datetime | None:
    """When the only kiln is free again; None where it is free, or where there are several."""
    until: datetime | None = None
    for each in rows:
        assert each.plan is not None
        if len(each.plan.kilns) > 1:
            return None
        for board in each.boards:
            form = each.form(board.form)
            if board.state == IN_KILN and form is not None:
                ready = ready_at(lot_of(board), legs_of(form, each.plan))
                until = max(until, ready) if until else ready
    return until if until and until > now else None


class _Commission:
    """One commission's share of the day."""

    def __init__(self, there: InHand, now: datetime, busy: datetime | None) -> None:
        assert there.plan is not None
        self.there, self.plan, self.now, self.busy = there, there.plan, now, busy
        self.code, self.name = there.commission.code, there.commission.name
        self.due = datetime.combine(self.plan.brief.due + timedelta(days=1), time(0), now.tzinfo)
        self.tonight = datetime.combine(now.date() + timedelta(days=1), time(0), now.tzinfo)
        self.hands = pace(self.plan)
        self.jobs: list[Job] = []
        self.waits: list[Wait] = []
        self.for_kiln: dict[str, list[tuple[Board, FormPlan, float]]] = {}

    def run(self, ticked: set[tuple[str, str]]) -> None:
        for board in self.there.boards:
            form = self.there.form(board.form)
            if form is not None:
                self._board(board, form)
        self._loads()
        self._throws()
        self._mixing(ticked)

    def _spare(self, lot: Lot, legs: tuple[Leg, ...], ready: datetime) -> float:
        begun = max(ready, self.now)
        left = self.due - begun - timedelta(hours=way_left_h(lot, legs, self.hands))
        return left.total_seconds() / 86400.0

    def _board(self, board: Board, form: FormPlan) -> None:
        legs, lot = legs_of(form, self.plan), lot_of(board)
        leg = next_leg(legs, board.stage)
        if leg is None:
            return
        ready = ready_at(lot, legs).astimezone(self.now.tzinfo)
        spare = self._spare(lot, legs, ready)
        if board.state == IN_KILN:
            self._in_kiln(board, leg, ready, spare)
        elif leg.stage == "bone dry":
            self._drying(board, form, lot, legs, spare)
        elif ready >= self.tonight:
            reason = WAITS_FOR.get(leg.stage, "its turn")
            self._wait(
                [board], f"{reason} about {_moment(ready, self.now)}, then {leg.act.split(' ')[0].lower()}", ready
            )
        elif leg.run_h:
            self.for_kiln.setdefault(leg.stage, []).append((board, form, spare))
        else:
            rank = NOW_OR_NEVER if leg.stage in WILL_NOT_KEEP else THEN
            self._job(
                leg.act, board, _why_now(board, leg, ready, self.now), rank, spare, "move", leg.stage, leg.minutes
            )

    def _job(
        self, act: str, board: Board, why: str, rank: int, spare: float, kind: str, to: str = "", minutes: float = 0.0
    ) -> None:
        """A job, put together with one of the same kind on other boards of the form."""
        for job in self.jobs:
            if job.boards and (job.kind, job.to, job.boards[0].form) == (kind, to, board.form) and job.why == why:
                job.boards.append(board)
                job.what = _named(act, job.boards)
                job.spare, job.minutes = min(job.spare, spare), job.minutes + minutes * board.pieces
                return
        what = _named(act, [board])
        self.jobs.append(Job(what, why, rank, spare, self.name, self.code, [board], kind, to, minutes * board.pieces))

    def _wait(self, boards: list[Board], until: str, when: datetime) -> None:
        self.waits.append(Wait(_named("", boards), until, self.name, when))

    def _in_kiln(self, board: Board, leg: Leg, ready: datetime, spare: float) -> None:
        if ready < self.tonight:
            why = f"fired and cool about {_moment(ready, self.now)}; read the cones first"
            self._job("Unload", board, why, KILN, spare, "move", leg.stage)
        else:
            self._wait([board], f"in the kiln; it can be opened about {_moment(ready, self.now)}", ready)

    def _drying(self, board: Board, form: FormPlan, lot: Lot, legs: tuple[Leg, ...], spare: float) -> None:
        low, ready, high = (ready_at(lot, legs, end).astimezone(self.now.tzinfo) for end in ("low", "value", "high"))
        uncover = (board.state_since or board.since).astimezone(self.now.tzinfo) + timedelta(hours=COVERED_OVERNIGHT_H)
        if board.state == WRAPPED and uncover < self.tonight:
            self._job("Uncover", board, "a night under cover has evened out its joins", NOW_OR_NEVER, spare, "unwrap")
        turned = (board.turned or board.since).astimezone(self.now.tzinfo)
        if form.kind == "plate" and turned + TURNED_EVERY < self.tonight:
            why = "flat ware dries from the rim; turned daily it stays flat"
            self._job("Turn", board, why, NOW_OR_NEVER, spare, "turn")
        if low < self.tonight:
            why = "it may be dry by now; dry is when two weighings a day apart agree, not when it looks dry"
            self._job("Weigh one of", board, why, THEN, spare, "move", "bone dry")
        else:
            days = f"{_day(low, self.now)} to {_day(high, self.now)}"
            self._wait([board], f"bone dry about {_day(ready, self.now)} ({days})", ready)

    def _loads(self) -> None:
        for stage, ready in self.for_kiln.items():
            firing = self.plan.bisque if stage == "bisque" else self.plan.glaze_firing
            full = sum(b.pieces / max(1, firing.loads.pieces_in_a_load(f.name)) for b, f, _ in ready)
            coming = sum(b.pieces for b in self.there.boards if ORDER[b.stage] < ORDER[stage]) - sum(
                b.pieces for b, _, _ in ready
            )
            spare = min(spare for _, _, spare in ready)
            boards = [board for board, _, _ in ready]
            share = f"{min(full, 9.99):.0%} of a load"
            if self.busy is not None:
                self._wait(boards, f"the kiln is taken until about {_moment(self.busy, self.now)}", self.busy)
            elif full >= FULL_ENOUGH or coming <= 0 or spare < NO_DAYS_TO_LOSE:
                why = (
                    share if full >= FULL_ENOUGH else f"{share}, and nothing more is to come" if coming <= 0 else share
                )
                why += "" if spare >= NO_DAYS_TO_LOSE else "; the date leaves no time to wait for more"
                minutes = reference.default(f"minutes.load_{firing.kind}").value
                self.jobs.append(
                    Job(
                        _named(KILN_LEGS[stage], boards),
                        f"{why}; cone {firing.cone}",
                        KILN,
                        spare,
                        self.name,
                        self.code,
                        boards,
                        "load",
                        minutes=minutes,
                    )
                )
            else:
                self._wait(boards, f"{share}; {coming} more are to come", self.tonight)

    def _throws(self) -> None:
        sitting = round(reference.default("calendar.batch_pieces").value)
        for standing in self.there.forms:
            form, more = self.there.form(standing.form), standing.enough.more
            if form is None or not more:
                continue
            first = self.plan.first_day
            if not standing.on_boards and first is not None and first > self.now.date():
                when = datetime.combine(first, time(9), self.now.tzinfo)
                self.waits.append(
                    Wait(f"{more} × {form.name}", f"to be begun on {_day(when, self.now)}", self.name, when)
                )
                continue
            count = min(more, sitting)
            legs = legs_of(form, self.plan)
            spare = self._spare(Lot("", form.name, "", more, self.now), legs, self.now)
            chance = f"{standing.enough.chance:.0%}"
            why = (
                f"{more} to throw in all"
                if not standing.on_boards
                else f"the chance of {standing.wanted} is down to {chance}"
            )
            minutes = count * sum(
                form.minutes[task].value for task in ("weigh", "throw", "lid") if task in form.minutes
            )
            what = f"Weigh and throw {count} × {form.name}, balls of {show_mass(form.ball_g)}"
            self.jobs.append(Job(what, why, THEN, spare, self.name, self.code, minutes=minutes))

    def _mixing(self, ticked: set[tuple[str, str]]) -> None:
        for glaze in self.plan.glazes:
            name = f"mix-{slug(glaze.glaze.name)}"[:80]
            if not glaze.glaze.recipe or (self.code, name) in ticked:
                continue
            soon = [
                (hours, board)
                for board in self.there.boards
                if (hours := self._until_glazing(board, glaze.forms)) is not None
            ]
            if not soon or min(hours for hours, _ in soon) > MIX_AHEAD_H:
                continue
            hours, board = min(soon, key=lambda each: each[0])
            why = f"it rests a day before use, and {board.code} comes to it in about {_in_days(hours)}"
            minutes = reference.default("minutes.mix_glaze").value
            what = f"Weigh out, mix and sieve {glaze.glaze.name}"
            self.jobs.append(Job(what, why, THEN, hours / 24.0, self.name, self.code, minutes=minutes, tick=name))

    def _until_glazing(self, board: Board, forms: tuple[str, ...]) -> float | None:
        form = self.there.form(board.form)
        if form is None or board.form not in forms or ORDER[board.stage] >= ORDER["painted"]:
            return None
        hours = 0.0
        for leg in legs_of(form, self.plan):
            if ORDER[leg.stage] <= ORDER[board.stage]:
                continue
            hours += leg.wait_h.value
            if leg.stage in ("lined", "painted", "glazed"):
                break
            hours += leg.run_h + leg.minutes * board.pieces / 60.0 / self.hands
        gone = (self.now - board.since.astimezone(self.now.tzinfo)).total_seconds() / 3600.0
        return max(0.0, hours - gone)


def _in_days(hours: float) -> str:
    return words.in_days(max(1, round(hours / 24.0)))


def _named(act: str, boards: list[Board]) -> str:
    codes = ", ".join(board.code for board in boards)
    what = f"{sum(board.pieces for board in boards)} × {boards[0].form}"
    if len({board.form for board in boards}) > 1:
        what = f"{sum(board.pieces for board in boards)} pieces"
    return f"{act} {codes}: {what}".strip()


def _why_now(board: Board, leg: Leg, ready: datetime, now: datetime) -> str:
    state = WAITS_FOR.get(leg.stage)
    if leg.wait_h.value and state:
        return f"{state} since about {_moment(ready, now)}" if ready < now else f"{state} about {_moment(ready, now)}"
    return f"{WORDS[board.stage].lower()}, so this is next"


def _day(moment: datetime, now: datetime) -> str:
    days = (moment.date() - now.date()).days
    if days in (-1, 0, 1):
        return ("yesterday", "today", "tomorrow")[days + 1]
    return words.day(moment.date()) if abs(days) > 300 else f"{moment:%a} {moment.day} {moment:%b}"


def _moment(moment: datetime, now: datetime) -> str:
    return f"{moment:%H:%M} {_day(moment, now)}".replace(" today", "")


def message_for(there: InHand, told: date | None) -> tuple[date, str] | None:
    """The message that is owed to the client when the date moved: the new day, and a draft with the facts in it.

    Args:
        told: the day that the client was told last, if any.
    """
    if there.plan is None or not any(each.on_boards for each in there.forms):
        return None
    ends = [each.packed.value.date() for each in there.forms if each.packed]
    finish, due = max(ends, default=None), there.plan.brief.due
    if finish is None or finish <= due or (told is not None and finish <= told):
        return None
    rows = "\n".join(f"- {each.form}: {each.wanted} ordered, {each.on_boards} in the making" for each in there.forms)
    text = (
        f"Dear {there.plan.brief.client or 'client'},\n\nabout {there.commission.name}: by how the work stands today, "
        f"all will be ready about {words.day(finish)}, which is {words.in_days((finish - (told or due)).days)} after the "
        f"{words.day(told or due)} we spoke of.\n\n{rows}\n\nWould the later day do, or shall part of it come first?"
    )
    return finish, text
