"""The day's work: what to do now, in which order, why each, and what waits; from boards and calendars of all in hand.

The order: first what will not keep (leather-hard ware, ware under cover too long), then the kiln, since every piece must go
through it twice, then whatever has the fewest days to spare before its commission's date.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, time, timedelta

from wareboard import reference
from wareboard.book.boards.ahead import Lot, next_leg, ready_at, way_left_h
from wareboard.book.boards.counting import lot_of
from wareboard.book.boards.course import FormCourse
from wareboard.book.boards.legs import WAITS_FOR, Leg
from wareboard.book.boards.models import Board
from wareboard.book.boards.stages import IN_KILN, ORDER, WORDS, WRAPPED
from wareboard.book.measures.by_weight import Foretold, When
from wareboard.clay.dry_enough import DRY
from wareboard.plan.tasks import COVERED_OVERNIGHT_H
from wareboard.quantities import show_mass
from wareboard.studio import words
from wareboard.studio.bench.against import Against
from wareboard.studio.bench.jobs import (
    KILN,
    NOW_OR_NEVER,
    THEN,
    Behind,
    DaysWork,
    Job,
    Wait,
    day_words,
    moment_words,
    named,
    range_words,
)
from wareboard.studio.bench.standing import InHand
from wareboard.working import per_cent

TURNED_EVERY = timedelta(hours=24)  # common practice for flat ware
FULL_ENOUGH = 0.85  # common practice: a load that is nearly full is not kept waiting
NO_DAYS_TO_LOSE = 2.0
MIX_AHEAD_H = 72.0
WILL_NOT_KEEP = ("trimmed", "handled", "marked")
KILN_LEGS = {"bisque": "Load the bisque", "fired": "Load the glaze firing"}


def days_work(
    there: Iterable[InHand],
    ticked: set[tuple[str, str]],
    now: datetime,
    weighed: Mapping[int, Foretold] | None = None,
) -> DaysWork:
    """What to do today and what waits.

    Args:
        there: the commissions in hand as they stand.
        ticked: commission's code and name of what was ticked off and belongs to no board.
        now: this moment in the workshop's own zone.
        weighed: by the key of a board, what weighings of one of its pieces foretell of its drying.
    """
    rows = [each for each in there if each.course is not None]
    busy = _kilns_busy(rows, now)
    jobs: list[Job] = []
    waits: list[Wait] = []
    behind: list[Behind] = []
    for each in rows:
        one = _Commission(each, now, busy, weighed or {})
        one.run(ticked)
        jobs += one.jobs
        waits += one.waits
        behind += one.against.behind(one.name) if each.boards else []
    return DaysWork(
        tuple(sorted(jobs, key=lambda job: (job.rank, job.spare, job.commission, job.what))),
        tuple(sorted(waits, key=lambda wait: (wait.when, wait.commission, wait.what))),
        tuple(behind),
    )


def _kilns_busy(rows: list[InHand], now: datetime) -> datetime | None:
    """When the only kiln is free again; None where it is free, or where there are several."""
    until: datetime | None = None
    for each in rows:
        assert each.course is not None
        if each.course.kilns > 1:
            return None
        for board in each.boards:
            form = each.form(board.form)
            if board.state == IN_KILN and form is not None:
                ready = ready_at(lot_of(board), form.legs)
                until = max(until, ready) if until else ready
    return until if until and until > now else None


class _Commission:
    """One commission's share of the day."""

    def __init__(self, there: InHand, now: datetime, busy: datetime | None, weighed: Mapping[int, Foretold]) -> None:
        assert there.course is not None
        self.there, self.course, self.now, self.busy = there, there.course, now, busy
        self.weighed = weighed
        self.against = Against(there.course, there.boards, now)
        self.code, self.name = there.commission.code, there.commission.name
        self.due = datetime.combine(self.course.due + timedelta(days=1), time(0), now.tzinfo)
        self.tonight = datetime.combine(now.date() + timedelta(days=1), time(0), now.tzinfo)
        self.hands = self.course.hands
        self.jobs: list[Job] = []
        self.waits: list[Wait] = []
        self._waiting: dict[tuple[str, str], list[Board]] = {}
        self._ways_h: dict[
            tuple[str, str, int], float
        ] = {}  # boards of a form at one stage have the same way before them
        self.for_kiln: dict[str, list[tuple[Board, FormCourse, float]]] = {}

    def run(self, ticked: set[tuple[str, str]]) -> None:
        for board in self.there.boards:
            form = self.there.form(board.form)
            if form is not None:
                self._board(board, form)
        self._loads()
        self._throws()
        self._mixing(ticked)

    def _spare(self, lot: Lot, legs: tuple[Leg, ...], ready: datetime) -> float:
        way = lot.form, lot.stage, lot.pieces
        if way not in self._ways_h:
            self._ways_h[way] = way_left_h(lot, legs, self.hands)
        left = self.due - max(ready, self.now) - timedelta(hours=self._ways_h[way])
        return left.total_seconds() / 86400.0

    def _board(self, board: Board, form: FormCourse) -> None:
        legs, lot = form.legs, lot_of(board)
        leg = next_leg(legs, board.stage)
        if leg is None:
            return
        low, ready, high = self._ready(board, leg, lot, legs)
        spare = self._spare(lot, legs, ready)
        if board.state == IN_KILN:
            self._in_kiln(board, leg, (low, ready, high), spare)
        elif leg.stage == "bone dry":
            self._drying(board, form, (low, ready, high), spare)
        elif ready >= self.tonight:
            reason = WAITS_FOR.get(leg.stage, "its turn")
            then = f"then {leg.act.split(' ')[0].lower()}"
            between = range_words(low, high, self.now)
            by = ", by its weights" if self._by_weight(board, leg) else ""
            self._wait([board], f"{reason} about {moment_words(ready, self.now)}{between}{by}, {then}", ready)
        elif leg.run_h:
            self.for_kiln.setdefault(leg.stage, []).append((board, form, spare))
        else:
            rank = NOW_OR_NEVER if leg.stage in WILL_NOT_KEEP else THEN
            why = _why_now(board, leg, ready, self.now) + (", by its weights" if self._by_weight(board, leg) else "")
            feeds = self.against.feeds(board.stage)
            why = f"{why}; {feeds}" if feeds else why
            self._job(leg.act, board, why, rank, spare, "move", leg.stage, leg.minutes, ready)

    def _by_weight(self, board: Board, leg: Leg) -> When | None:
        """When the next work can begin as the board's own weighings have it; None where they say nothing of it."""
        seen = self.weighed.get(board.pk)
        if seen is None:
            return None
        return {"trimmed": seen.trim, "handled": seen.join, "bone dry": seen.bone_dry}.get(leg.stage)

    def _ready(self, board: Board, leg: Leg, lot: Lot, legs: tuple[Leg, ...]) -> tuple[datetime, datetime, datetime]:
        """When the next work can begin, with its range: by weight where the board was weighed, else as the plan has it."""
        found = self._by_weight(board, leg)
        if found is not None:
            ends = (found.low, found.value, found.high)
        else:
            ends = (ready_at(lot, legs, "low"), ready_at(lot, legs), ready_at(lot, legs, "high"))
        low, ready, high = (each.astimezone(self.now.tzinfo) for each in ends)
        return low, ready, high

    def _job(
        self,
        act: str,
        board: Board,
        why: str,
        rank: int,
        spare: float,
        kind: str,
        to: str = "",
        minutes: float = 0.0,
        ready: datetime | None = None,
    ) -> None:
        """A job, put together with one of the same kind on other boards of the form that are ready as well."""
        ready_now = ready is not None and ready <= self.now
        for job in self.jobs:
            same = job.boards and (job.kind, job.to, job.boards[0].form) == (kind, to, board.form)
            if same and (job.why == why or (ready_now and job.ready is not None and job.ready <= self.now)):
                job.boards.append(board)
                job.what = named(act, job.boards)
                job.spare, job.minutes = min(job.spare, spare), job.minutes + minutes * board.pieces
                if ready is not None and job.ready is not None and ready < job.ready:
                    job.why, job.ready = why, ready
                return
        line = self.against.line_to(board.form, to) if kind == "move" else None
        self.jobs.append(
            Job(
                named(act, [board]),
                why,
                rank,
                spare,
                self.name,
                self.code,
                [board],
                kind,
                to,
                minutes * board.pieces,
                planned=line.who if line else "",
                ready=ready,
                about=board.form,
            )
        )

    def _wait(self, boards: list[Board], until: str, when: datetime) -> None:
        """Something that waits, put together with other boards of the form that wait for the same."""
        together = self._waiting.setdefault((boards[0].form, until), [])
        before = named("", together) if together else ""
        together += boards
        self.waits = [each for each in self.waits if not before or (each.what, each.until) != (before, until)]
        self.waits.append(Wait(named("", together), until, self.name, when))

    def _in_kiln(self, board: Board, leg: Leg, ready: tuple[datetime, datetime, datetime], spare: float) -> None:
        low, about, high = ready
        between = range_words(low, high, self.now)
        if about < self.tonight:
            why = f"cool enough from about {moment_words(about, self.now)}{between}; read the cones first"
            minutes = reference.default("minutes.unload").value / max(1, self._in_the_kiln)
            self._job("Unload", board, why, KILN, spare, "move", leg.stage, minutes)
        else:
            until = f"in the kiln; cool enough to open about {moment_words(about, self.now)}{between}"
            self._wait([board], until, about)

    @property
    def _in_the_kiln(self) -> int:
        return sum(board.pieces for board in self.there.boards if board.state == IN_KILN)

    def _drying(self, board: Board, form: FormCourse, dry: tuple[datetime, datetime, datetime], spare: float) -> None:
        low, ready, high = dry
        seen = self.weighed.get(board.pk)
        uncover = (board.state_since or board.since).astimezone(self.now.tzinfo) + timedelta(hours=COVERED_OVERNIGHT_H)
        if board.state == WRAPPED and uncover < self.tonight:
            why = f"a night under cover has evened out its joins; bone dry about {day_words(ready, self.now)}"
            self._job("Uncover", board, why, NOW_OR_NEVER, spare, "unwrap")
        turned = (board.turned or board.since).astimezone(self.now.tzinfo)
        if form.kind == "plate" and turned + TURNED_EVERY < self.tonight:
            why = "flat ware dries from the rim; turned daily it stays flat"
            self._job("Turn", board, why, NOW_OR_NEVER, spare, "turn")
        agree = seen is not None and seen.verdict == DRY
        if low < self.tonight or agree:
            why = "it may be dry by now; dry is when two weighings a day apart agree, not when it looks dry"
            if seen is not None and seen.verdict:
                why = f"{seen.verdict} by its last two weights; dry about {seen.dry_g:.0f} g"
            feeds = self.against.feeds(board.stage)
            why = f"{why}; {feeds}" if feeds else why
            self._job("Weigh one of", board, why, THEN, spare, "move", "bone dry")
        else:
            days = f"{day_words(low, self.now)} to {day_words(high, self.now)}"
            by = f", by its weights; dry about {seen.dry_g:.0f} g" if seen is not None else ""
            self._wait([board], f"bone dry about {day_words(ready, self.now)} ({days}){by}", ready)

    def _loads(self) -> None:
        for stage, ready in self.for_kiln.items():
            full = sum(board.pieces / max(1, form.rooms[stage]) for board, form, _ in ready)
            before = sum(board.pieces for board in self.there.boards if ORDER[board.stage] < ORDER[stage])
            coming = before - sum(board.pieces for board, _, _ in ready)
            spare = min(spare for _, _, spare in ready)
            boards = [board for board, _, _ in ready]
            if self.busy is not None:
                self._wait(boards, f"the kiln is taken until about {moment_words(self.busy, self.now)}", self.busy)
            elif full >= FULL_ENOUGH or coming <= 0 or spare < NO_DAYS_TO_LOSE:
                self._load(stage, boards, full, coming, spare)
            else:
                line = self.against.next_load(stage)
                when = f"; the calendar has the load for {day_words(line.start, self.now)}" if line else ""
                self._wait(
                    boards, f"{per_cent(min(full, 9.99))} of a load; {coming} more are to come{when}", self.tonight
                )

    def _load(self, stage: str, boards: list[Board], full: float, coming: int, spare: float) -> None:
        firing, load = self.course.firings[stage], self.against.load_number(stage)
        kiln = firing.kiln_of(load)
        why = f"{per_cent(min(full, 9.99))} of a load"
        why += ", and nothing more is to come" if full < FULL_ENOUGH and coming <= 0 else ""
        why += "" if spare >= NO_DAYS_TO_LOSE else "; the date leaves no time to wait for more"
        line = self.against.next_load(stage)
        why += f"; the calendar has it for {day_words(line.start, self.now)}" if line else ""
        self.jobs.append(
            Job(
                named(KILN_LEGS[stage], boards),
                f"{why}; cone {firing.cone}{f', in {kiln}' if firing.kilns else ''}",
                KILN,
                spare,
                self.name,
                self.code,
                boards,
                "load",
                minutes=firing.load_minutes,
                about=stage,
                # made addresses where pages are known
                link=f"{kiln}|{firing.kind}|{firing.cone}|{load}",
                planned=line.who if line else "",
            )
        )

    def _throws(self) -> None:
        for standing in self.there.forms:
            form, more = self.there.form(standing.form), standing.enough.more
            if form is None or not more:
                continue
            future = self._for_later(form, standing.on_boards)
            line = next(
                (each for each in self.against.lines("thrown", form.name) if each.start.date() > self.now.date()), None
            )
            if future and line is not None:
                when = datetime.combine(line.start.date(), line.start.time(), self.now.tzinfo)
                first = f"{min(more, future)} × {form.name}"
                self.waits.append(
                    Wait(first, f"to be thrown from {day_words(when, self.now)} by the calendar", self.name, when)
                )
            if more > future:
                self._throw(form, more - future, standing.on_boards, standing.enough.chance)

    def _for_later(self, form: FormCourse, on_boards: int) -> int:
        """How many the calendar has down to be thrown on a later day, those thrown ahead of it taken off."""
        lines = self.against.lines("thrown", form.name)
        due = sum(line.pieces for line in lines if line.start.date() <= self.now.date())
        return max(0, sum(line.pieces for line in lines) - max(on_boards, due))

    def _throw(self, form: FormCourse, more: int, on_boards: int, reached: float) -> None:
        sitting = round(reference.default("calendar.batch_pieces").value)
        line = self.against.next_line(form.name, "thrown")
        count = min(more, line.pieces if line else sitting, 2 * sitting)
        spare = self._spare(Lot("", form.name, "", more, self.now), form.legs, self.now)
        why = f"{more} to throw" if not on_boards else f"the chance of {form.count} is down to {per_cent(reached)}"
        feeds = self.against.feeds("thrown")
        why = f"{why}; {feeds}" if feeds else why
        minutes = count * form.minutes_to("ball", "thrown")
        what = f"Weigh and throw {count} × {form.name}, balls of {show_mass(form.ball_g)}"
        self.jobs.append(
            Job(
                what,
                why,
                THEN,
                spare,
                self.name,
                self.code,
                minutes=minutes,
                planned=line.who if line else "",
                about=f"throw {form.name}",
            )
        )

    def _mixing(self, ticked: set[tuple[str, str]]) -> None:
        for glaze in self.course.glazes:
            if not glaze.mixed or (self.code, glaze.tick) in ticked:
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
            what = f"Weigh out, mix and sieve {glaze.name}"
            line = next(iter(self.against.lines("mixing")), None)
            job = Job(what, why, THEN, hours / 24.0, self.name, self.code, minutes=minutes, tick=glaze.tick)
            job.planned = line.who if line else ""
            self.jobs.append(job)

    def _until_glazing(self, board: Board, forms: tuple[str, ...]) -> float | None:
        form = self.there.form(board.form)
        if form is None or board.form not in forms or ORDER[board.stage] >= ORDER["painted"]:
            return None
        hours = 0.0
        for leg in form.legs:
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


def _why_now(board: Board, leg: Leg, ready: datetime, now: datetime) -> str:
    state = WAITS_FOR.get(leg.stage)
    if leg.wait_h.value and state:
        since = "since about" if ready < now else "about"
        return f"{state} {since} {moment_words(ready, now)}"
    return f"{WORDS[board.stage].lower()}, so this is next"
