"""The dossier: every sheet and file of a plan in one folder, written whole or not at all.

Everything is made in a folder beside the wanted one and takes its place only when the last file is written, so that a
process that is killed leaves the old dossier, or the new one, and never half of one. A folder that holds other things than
a dossier is refused; files that somebody put into a dossier are carried over.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from wareboard.errors import Unreadable
from wareboard.plan.result import Plan, slug
from wareboard.sheets import (
    calendar_sheets,
    client_sheets,
    cutting,
    figures,
    gauge,
    glaze_sheets,
    kiln_sheets,
    making,
    patterns,
    schedule_cards,
    summary,
)
from wareboard.sheets.since_approval import Since, told
from wareboard.sheets.typesetting import Paper, stamp_of, typeset

if TYPE_CHECKING:
    from wareboard.plan.result import FiringPlan

A_DAY_S = 86_400
LEFT_BY_FILE_MANAGERS = {".DS_Store", "Thumbs.db", "desktop.ini"}
LIST = ".dossier.json"  # which files of a folder are the dossier's own
# Windows keeps these names for devices, whatever ending follows: "sections/con.svg" could not be written there.
DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in range(10))}
_SWAPPING = threading.Lock()
Progress = Callable[[int, int, str], None]
Make = Callable[[], bytes]
Drawn = Sequence[tuple[str, str, Mapping[str, object]]]


def write(
    plan: Plan,
    folder: Path,
    on_progress: Progress | None = None,
    paper: Paper = "a4",
    loaded: kiln_sheets.Loaded | None = None,
    since: Since | None = None,
    drawn: Drawn = (),
    named: Mapping[str, bytes] | None = None,
) -> tuple[Path, ...]:
    """The files of a dossier, written into ``folder``; the same bytes for the same plan and paper.

    Args:
        plan: what is to be printed.
        folder: a dossier that is to be replaced, an empty folder, or none yet.
        on_progress: told after each file how many are done, how many there are, and its name.
        paper: "a4" or "letter".
        loaded: the loads as they were arranged by hand, for the shelf plans; as planned if left out.
        since: the approval of the prototype and what has changed since, told on every sheet.
        drawn: further sheets, such as the mark's and the painter's card: file name, template, data.
        named: the files that the brief names, by their path, so that the dossier's own brief finds them beside it.
    Raises:
        Unreadable: if the folder holds things that are no dossier, is a file, or cannot be written to.
    """
    asked, folder = folder, Path(folder).resolve()  # a link stays a link: what it leads to is replaced
    _put_back_what_was_interrupted(folder)
    kept = _not_ours(folder)
    jobs = dict(files_of(plan, paper, loaded, since, drawn))
    for name, data in (named or {}).items():
        jobs.setdefault(name, lambda data=data: data)  # type: ignore[misc]
    _refuse_same_names(folder, kept, jobs)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        making_of = Path(tempfile.mkdtemp(prefix=f".{folder.name}.new-", dir=folder.parent))
    except OSError as problem:
        raise Unreadable(
            str(folder), f"it cannot be written to ({problem.strerror})", "Choose another folder"
        ) from problem
    try:
        _write_all(making_of, jobs, on_progress)
        for name in kept:
            _carry_over(folder / name, making_of / name)
        making_of.chmod(0o755)  # a temporary folder is made for its owner alone
        with _SWAPPING:
            _take_its_place(making_of, folder)
    except OSError as problem:
        shutil.rmtree(making_of, ignore_errors=True)
        raise Unreadable(
            str(folder), f"it could not be written whole ({problem.strerror})", "Make room, try again"
        ) from problem
    except BaseException:
        shutil.rmtree(making_of, ignore_errors=True)
        raise
    return tuple(asked / name for name in jobs)


def _write_all(place: Path, jobs: Mapping[str, Make], on_progress: Progress | None) -> None:
    sums: dict[str, str] = {}
    for done, (name, make) in enumerate(jobs.items(), start=1):
        content = make()
        target = place / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
        sums[name] = hashlib.sha256(content).hexdigest()
        if on_progress is not None:
            on_progress(done, len(jobs), name)
    text = json.dumps({"dossier": 1, "files": sums}, sort_keys=True, indent=1)
    (place / LIST).write_text(text + "\n", encoding="utf-8")


# --- what is in it ----------------------------------------------------------------------------------------------------


def files_of(
    plan: Plan,
    paper: Paper = "a4",
    loaded: kiln_sheets.Loaded | None = None,
    since: Since | None = None,
    drawn: Drawn = (),
) -> Iterator[tuple[str, Make]]:
    """Name and maker of every file of a dossier, in the order in which they are written."""
    due = plan.brief.due
    approval = told(since)
    stood = loaded or kiln_sheets.Loaded(plan)

    def sheet(template: str, data: Callable[[], Mapping[str, object]]) -> Make:
        return lambda: typeset(template, {**data(), **approval}, due)

    def text(words: Callable[[], str]) -> Make:
        return lambda: words().encode("utf-8")

    yield "01-job-summary.pdf", sheet("summary", lambda: summary.summary_sheet(plan, paper))
    names = names_of_forms(plan)
    for form in plan.forms:
        yield (
            f"throw-{names[form.name]}.pdf",
            sheet("throw", lambda form=form: making.throw_sheet(plan, form, paper)),  # type: ignore[misc]
        )
        yield (
            f"gauge-{names[form.name]}.pdf",
            sheet("gauge", lambda form=form: gauge.gauge_sheet(plan, form, paper)),  # type: ignore[misc]
        )
        yield (
            f"patterns-{names[form.name]}.pdf",
            sheet("patterns", lambda form=form: patterns.pattern_sheet(plan, form, paper)),  # type: ignore[misc]
        )
    yield "cutting-plan.pdf", sheet("cutting", lambda: cutting.cutting_sheet(plan, paper))
    yield "shelf-plans.pdf", sheet("shelves", lambda: kiln_sheets.shelf_sheet(stood.plan, paper, stood.told))
    yield "firing-cards.pdf", sheet("firing", lambda: schedule_cards.firing_sheet(plan, paper))
    if plan.glazes:
        yield "glaze-cards.pdf", sheet("glaze", lambda: glaze_sheets.glaze_sheet(plan, paper))
    for name, template, data in drawn:
        yield name, sheet(template, lambda data=data: data)  # type: ignore[misc]
    yield "calendar.pdf", sheet("calendar", lambda: calendar_sheets.calendar_sheet(plan, paper))
    yield "calendar.ics", text(lambda: _ics(plan))
    yield "quote.pdf", sheet("quote", lambda: client_sheets.quote_sheet(plan, paper))
    yield "approval.pdf", sheet("approval", lambda: client_sheets.approval_sheet(plan, paper))
    yield "care-card.pdf", sheet("care", lambda: client_sheets.care_sheet(plan, paper))
    yield "figures.json", text(lambda: figures.figures_json(plan))
    yield "figures.csv", text(lambda: figures.figures_csv(plan))
    yield "brief.toml", text(lambda: _brief(plan))
    for form in plan.forms:
        yield f"sections/{names[form.name]}.svg", text(lambda form=form: making.section_file(form, plan.length_unit))  # type: ignore[misc]
    for firing in (stood.plan.bisque, stood.plan.glaze_firing):
        yield f"{firing.kind}-schedule.csv", text(lambda firing=firing: _schedule(firing))  # type: ignore[misc]
        yield from _shelf_files(plan, firing)


def names_of_forms(plan: Plan) -> dict[str, str]:
    """A file name for each form, no two alike."""
    found: dict[str, str] = {}
    for number, form in enumerate(plan.forms, start=1):
        name = slug(form.name)[:60].strip("-") or "form"
        if name in DEVICES:
            name = f"form-{name}"
        found[form.name] = name if name not in found.values() else f"{name}-{number}"
    return found


def _shelf_files(plan: Plan, firing: FiringPlan) -> Iterator[tuple[str, Make]]:
    for number, load in enumerate(firing.loads.loads, start=1):
        stem = f"{firing.kind}-load-{number}"
        yield (
            f"shelves/{stem}.svg",
            lambda load=load, stem=stem, number=number: kiln_sheets.side_file(plan, firing, load, number, stem),  # type: ignore[misc]
        )
        for at, layout in enumerate(load, start=1):
            yield (
                f"shelves/{stem}-shelf-{at}.svg",
                lambda layout=layout, stem=stem, at=at: kiln_sheets.shelf_file(plan, layout, stem, at),  # type: ignore[misc]
            )


def _ics(plan: Plan) -> str:
    from wareboard.plan.calendar import ics

    stem = f"{slug(plan.brief.title) or 'commission'}-{plan.brief.due.isoformat()}.wareboard"
    return ics(plan.calendar, stem, stamp_of(plan.brief.due))


def _brief(plan: Plan) -> str:
    from wareboard.plan.reading import to_toml

    return to_toml(plan.brief)


def _schedule(firing: FiringPlan) -> str:
    from wareboard.kiln.schedule import schedule_csv

    return schedule_csv(firing.schedule)


# --- taking the old one's place ---------------------------------------------------------------------------------------


def _old_place(folder: Path) -> Path:
    return folder.parent / f".{folder.name}.old"


def _put_back_what_was_interrupted(folder: Path) -> None:
    """A swap that was killed between its two steps leaves the old dossier aside: it is put back, or cleared away."""
    aside = _old_place(folder)
    if aside.is_dir():
        if folder.exists():
            shutil.rmtree(aside)
        else:
            aside.rename(folder)
    if folder.parent.is_dir():
        for left in folder.parent.glob(f".{folder.name}.new-*"):
            if time.time() - left.stat().st_mtime > A_DAY_S:  # a younger one may still be being written by somebody
                shutil.rmtree(left, ignore_errors=True)


def _take_its_place(made: Path, folder: Path) -> None:
    aside = _old_place(folder)
    if folder.is_dir():
        folder.rename(aside)
    try:
        made.rename(folder)
    except OSError as problem:
        if aside.is_dir() and not folder.exists():
            aside.rename(folder)
        raise Unreadable(
            str(folder), f"it cannot be replaced ({problem.strerror})", "Close what has it open"
        ) from problem
    shutil.rmtree(aside, ignore_errors=True)


def _not_ours(folder: Path) -> tuple[str, ...]:
    """Files in the folder that no dossier wrote, to be carried over.

    Raises:
        Unreadable: if ``folder`` is a file, or holds files and no list of a dossier.
    """
    if not folder.exists():
        return ()
    if not folder.is_dir():
        raise Unreadable(str(folder), "it is a file, not a folder", "Name a folder for the dossier")
    there = sorted(
        (Path(place) / name).relative_to(folder).as_posix()
        for place, folders, names in os.walk(folder)
        for name in (*names, *(each for each in folders if (Path(place) / each).is_symlink()))
        if name not in LEFT_BY_FILE_MANAGERS
    )
    try:
        ours = set(json.loads((folder / LIST).read_text(encoding="utf-8"))["files"]) | {LIST}
    except (OSError, ValueError, KeyError, TypeError):
        if there:
            raise Unreadable(
                str(folder),
                f"it holds {there[0]} and other things that are no dossier, and nothing of yours is written over",
                "Name another folder, or empty this one first",
            ) from None
        return ()
    return tuple(name for name in there if name not in ours)


def _carry_over(file: Path, to: Path) -> None:
    """The same file in the new folder: as a second name of it where the disk knows such, else as a copy."""
    to.parent.mkdir(parents=True, exist_ok=True)
    try:
        os.link(file, to, follow_symlinks=False)
    except (OSError, NotImplementedError):
        shutil.copy2(file, to, follow_symlinks=False)


def _refuse_same_names(folder: Path, kept: tuple[str, ...], jobs: Mapping[str, Make]) -> None:
    same = [name for name in kept if name in jobs]
    if same:
        raise Unreadable(
            str(folder / same[0]),
            "somebody put it there, and the dossier has a file of that name",
            "Rename it, or move it elsewhere",
        )
