"""The sheets of a commission: written when they are asked for, opened or printed one by one, or taken all at once."""

from __future__ import annotations

import hashlib
import importlib.util
import io
import mimetypes
import re
import threading
import zipfile
from pathlib import Path

from django.conf import settings
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from wareboard.errors import WareboardError
from wareboard.studio import plans
from wareboard.studio.commission_pages import Opened, opened
from wareboard.studio.context import door
from wareboard.studio.history import current_of
from wareboard.studio.phones.access import may_have_sheet

SHOWN_IN_THE_BROWSER = {".pdf", ".svg", ".txt"}
_one_at_a_time = threading.Lock()  # two windows asking for the same sheets must not write them twice at once


def there_are_sheets() -> bool:
    """Whether this Wareboard can write sheets."""
    return importlib.util.find_spec("wareboard.sheets.dossier") is not None


@require_GET
def sheets(request: HttpRequest, code: str) -> HttpResponse:
    """The list of sheets."""
    page = opened(code, "sheets")
    files: list[tuple[str, str, int]] = []
    if page.plan is not None and there_are_sheets():
        try:
            folder = _written(page)
            files = [
                (_words(file), file.relative_to(folder).as_posix(), file.stat().st_size)
                for file in _theirs(request, folder)
            ]
        except WareboardError as problem:
            page.trouble = problem
    to_print = [each for each in files if each[1].endswith(".pdf")]
    others = [each for each in files if each not in to_print and "/" not in each[1]]
    drawings = [each for each in files if each not in to_print and "/" in each[1]]
    return render(
        request,
        "studio/sheets.html",
        {
            **page.context(),
            "to_print": to_print,
            "others": others,
            "drawings": drawings,
            "can_write": there_are_sheets(),
        },
    )


@require_GET
def one_sheet(request: HttpRequest, code: str, name: str) -> HttpResponse | FileResponse:
    """One sheet's file."""
    folder = _folder_of(code)
    file = next((file for file in _theirs(request, folder) if file.relative_to(folder).as_posix() == name), None)
    if file is None:  # only names that were written are served, so no path leads out of the folder
        raise Http404
    kind = mimetypes.guess_type(file.name)[0] or "application/octet-stream"
    response = FileResponse(
        file.open("rb"),
        content_type=kind,
        filename=f"{code} {file.name}",
        as_attachment=file.suffix not in SHOWN_IN_THE_BROWSER,
    )
    if file.suffix == ".svg":  # a drawing carries its own style; it still may load nothing and run nothing
        response["Content-Security-Policy"] = "default-src 'none'; style-src 'unsafe-inline'"
    elif file.suffix == ".pdf":
        response["X-Frame-Options"] = "SAMEORIGIN"
    return response


@require_GET
def all_sheets(request: HttpRequest, code: str) -> HttpResponse:
    """Every sheet that whoever asks may see, in one zip."""
    folder = _folder_of(code)
    box = io.BytesIO()
    with zipfile.ZipFile(box, "w", zipfile.ZIP_DEFLATED) as packed:
        for file in _theirs(request, folder):
            packed.write(file, f"{code}/{file.relative_to(folder).as_posix()}")
    response = HttpResponse(box.getvalue(), content_type="application/zip")
    response["Content-Disposition"] = f'attachment; filename="{code}-sheets.zip"'
    return response


def _folder_of(code: str) -> Path:
    page = opened(code, "sheets")
    if page.plan is None or not there_are_sheets():
        raise Http404
    try:
        return _written(page)
    except WareboardError:
        raise Http404 from None


def _written(page: Opened) -> Path:
    """The folder that holds the sheets of this plan, written where they are not there yet."""
    from wareboard.book.prototypes.pictures import all_of
    from wareboard.sheets.dossier import write
    from wareboard.sheets.kiln_sheets import Loaded
    from wareboard.studio.kilns import planned_load
    from wareboard.studio.prototypes import art_pages
    from wareboard.studio.prototypes.approval_pages import since_approval

    assert page.plan is not None
    code = page.commission.code
    on = plans.basis()
    learned = str(sorted(page.plan.leans.items()))
    stood = planned_load.print_of(page.commission)
    since = since_approval(page.commission, page.plan)
    made_from = (
        current_of(page.commission).text, on.print, on.day.isoformat(), f"{looked_s(page)}", learned, stood, repr(since),
        art_pages.print_of(page.commission),
    )  # fmt: skip
    stamp = hashlib.sha256("\0".join(made_from).encode()).hexdigest()
    folder: Path = settings.WAREBOARD.folder / "dossiers" / code
    mark = folder.with_name(f".{code}.made-from")
    with _one_at_a_time:
        if not (folder.is_dir() and mark.is_file() and mark.read_text(encoding="ascii") == stamp):
            mark.unlink(missing_ok=True)
            loaded = Loaded(*planned_load.arranged_plan(page.commission, page.plan))
            pictures = all_of(page.commission)
            drawn = [(name, *made) for name, made in art_pages.sheets_of(page.plan, pictures)]
            write(page.plan, folder, paper=page.plan.workshop.paper, loaded=loaded, since=since, drawn=drawn)
            mark.write_text(stamp, encoding="ascii")
    return folder


def looked_s(page: Opened) -> float:
    """How long this plan's calendar was looked for."""
    return plans.looked_s(current_of(page.commission))


def _files(folder: Path) -> list[Path]:
    return sorted(file for file in folder.rglob("*") if file.is_file() and not file.name.startswith("."))


def _theirs(request: HttpRequest, folder: Path) -> list[Path]:
    """The files that whoever asks may see; the potter sees all."""
    role = door(request)["role"]
    return [file for file in _files(folder) if may_have_sheet(str(role), file.relative_to(folder).as_posix())]


def _words(file: Path) -> str:
    words = re.sub(r"^\d+[-_ ]+", "", file.stem).replace("-", " ").replace("_", " ").strip()
    kind = "" if file.suffix == ".pdf" else f" ({file.suffix.removeprefix('.').upper()})"
    return f"{words[:1].upper()}{words[1:]}{kind}"
