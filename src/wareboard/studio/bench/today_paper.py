"""Today as plain words for its sheet of paper."""

from __future__ import annotations

from wareboard.sheets.bench_today import Line, TodaySheet
from wareboard.studio import words
from wareboard.studio.bench.jobs import Job
from wareboard.studio.bench.today_page import TheDay

MOST_ON_PAPER = 34


def sheet_of(day: TheDay) -> TodaySheet:
    """What stands on the sheet, whole; the sheet leaves out what has no room and says how much."""
    hours = day.hours
    shares = [f"{each.name}: {each.work} of {each.has}" for each in hours.shares]
    changed = [f"{each.commission}: {each.words}" for each in day.changes.moved]
    changed += [f"{each.commission}: {each.words}" for each in day.work.behind]
    return TodaySheet(
        day=f"{day.moment:%A} {day.moment.day} {day.moment:%B %Y}",
        hours=f"Work by hand: about {hours.work}; hours there are: {hours.has}.",
        shares=tuple(shares),
        lines=tuple(_line(job) for job in day.work.jobs[:MOST_ON_PAPER]),
        left=max(0, len(day.work.jobs) - MOST_ON_PAPER),
        waits=tuple(f"{each.what}: {each.until}" for each in day.work.waits),
        changed=tuple(changed),
        owed=tuple(f"{each.there.commission.name}: {each.about}" for each in day.owed),
        due=tuple(
            f"{each.commission.code} {each.commission.name}, due {words.day(each.course.due)}"
            for each in day.there
            if each.course is not None
        ),
    )


def _line(job: Job) -> Line:
    return Line(
        what=job.what,
        why=f"{job.why}. {job.to_spare}".replace("..", "."),
        long=job.how_long,
        who=job.who,
        commission=job.code,
        fits=job.fits,
        boxes=tuple(board.code for board in job.boards) or ("",),
    )
