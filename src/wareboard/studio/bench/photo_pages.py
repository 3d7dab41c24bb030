"""Photographs instead of typing: taken with the phone, kept for a board or for one of its entries."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from wareboard.book.boards.models import Entry, Photo
from wareboard.book.boards.photographs import keep_photograph, photos_of, too_large
from wareboard.errors import Unreadable, WareboardError
from wareboard.studio.bench.board_pages import board_at
from wareboard.studio.bench.entry_pages import back
from wareboard.studio.bench.entry_words import words_of
from wareboard.studio.bench.reading import fresh_key, moment_of
from wareboard.studio.context import writer_of
from wareboard.studio.today import now

A_WEEK_S = 604_800


@require_GET
def photographs(request: HttpRequest, code: str) -> HttpResponse:
    """A board's photographs, and another taken, of the board or of one entry."""
    board = board_at(code)
    entry = Entry.objects.filter(board=board, pk=request.GET["entry"]).first() if _is_key(request) else None
    context = {
        "at": "bench",
        "board": board,
        "entry": entry,
        "entry_words": words_of(entry) if entry else "",
        "photos": photos_of(board, most=60),
        "key": fresh_key(),
    }
    return render(request, "bench/photographs.html", context)


def _is_key(request: HttpRequest) -> bool:
    return request.GET.get("entry", "").isdecimal() and len(request.GET["entry"]) < 18


@require_POST
def take(request: HttpRequest) -> HttpResponse:
    """Keep one photograph, from a form or from a browser's own list, which is answered in JSON."""
    by_list = request.headers.get("Accept") == "application/json"
    sent = request.POST
    try:
        photo, already = keep_photograph(
            sent.get("key", "")[:40],
            sent.get("board", ""),
            _data(request),
            sent.get("words", ""),
            writer_of(request, sent.get("who", "")),
            moment_of(sent.dict(), now()),
            now(),
            sent.get("entry", "")[:40],
        )
    except WareboardError as problem:
        if by_list:
            return JsonResponse({"state": "refused", "words": str(problem)})
        messages.error(request, str(problem))
        return HttpResponseRedirect(back(request))
    words = f"{photo.board.code}: photograph kept, {_size(photo.size)}"
    if by_list:
        return JsonResponse({"state": "already" if already else "kept", "words": words, "board": photo.board.code})
    before = _upload(request).size or 0
    if before > 2 * photo.size:
        words += f" of the {_size(before)} that were sent, without place and time"
    messages.success(request, f"{words}.")
    return HttpResponseRedirect(back(request))


def _upload(request: HttpRequest) -> UploadedFile[Any]:
    sent = request.FILES.get("photo")
    if not isinstance(sent, UploadedFile):
        raise Unreadable("no photograph", "none came along", "Take or choose one")
    return sent


def _data(request: HttpRequest) -> bytes:
    upload = _upload(request)
    if (trouble := too_large(upload.size or 0)) is not None:
        raise trouble
    data: bytes = upload.read()
    return data


def _size(size: int) -> str:
    return f"{size / 1e6:.1f} MB" if size >= 1e6 else f"{max(1, round(size / 1e3))} kB"


@require_GET
def picture(request: HttpRequest, pk: int, which: str) -> HttpResponse:
    """A photograph's bytes, whole or small."""
    field = {"whole": "content", "small": "small"}.get(which)
    found = Photo.objects.filter(pk=pk).values_list(field, flat=True).first() if field else None
    if found is None:
        raise Http404
    response = HttpResponse(bytes(found), content_type="image/jpeg")
    response["Cache-Control"] = f"private, max-age={A_WEEK_S}, immutable"
    return response


@require_POST
def put_away(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a photograph away, or fetch it back; nothing is deleted."""
    photo = get_object_or_404(Photo.objects.defer("content", "small").select_related("board"), pk=pk)
    again = request.POST.get("do") == "again"
    photo.put_away = None if again else now()
    photo.save(update_fields=["put_away"])
    if again:
        messages.success(request, "The photograph is back.")
        return HttpResponseRedirect(reverse("bench-photographs", args=[photo.board.code]))
    context = {"at": "bench", "photo": photo, "board": photo.board}
    return render(request, "bench/photo_away.html", context)
