"""Pages for what went wrong."""

from __future__ import annotations

import sys

from django.core.exceptions import RequestDataTooBig, TooManyFieldsSent
from django.db import OperationalError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

BROKE = "Something broke in the studio"
BROKE_WORDS = (
    "This is the studio’s own fault. What was kept is still kept. The file studio.log in the workshop folder says what "
    "happened."
)
# What the disk or the database says, the heading for it, and the mend.
CANNOT_KEEP = (
    ("disk is full", "The disk is full", "Make room on the disk of the workshop folder, go back and save once more."),
    ("no space left", "The disk is full", "Make room on the disk of the workshop folder, go back and save once more."),
    ("readonly", "The workshop folder may not be written", "Let this user write in it, go back and save once more."),
    ("read-only", "The workshop folder may not be written", "Let this user write in it, go back and save once more."),
    ("permission denied", "The workshop folder may not be written", "Let this user write in it and save once more."),
    (
        "unable to open",
        "The records cannot be reached",
        "See that the workshop folder is there, and save once more.",
    ),
    ("disk i/o", "The disk does not answer as it should", "Make a copy of the workshop folder, and look at the disk."),
    (
        "locked",
        "Something else holds the records",
        "Wait until it is done (a backup, say), go back and save once more.",
    ),
)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """The page for an address where nothing stands."""
    return render(
        request,
        "studio/failure.html",
        {
            "heading": "Nothing stands here",
            "words": "There is no such page or commission. It may have had another code.",
        },
        status=404,
    )


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The page for a form that came without its token: most often the page is old."""
    return render(
        request,
        "studio/failure.html",
        {
            "heading": "The page was too old to save from",
            "words": "Go back, load the page again and save once more. What you typed is still in the box when you go back.",
        },
        status=403,
    )


def broke(request: HttpRequest) -> HttpResponse:
    """The page for a fault of the studio's own, or of its disk; it must not lean on anything that may be at fault.

    What was typed is shown again, so that it can be copied.
    """
    heading, words, status = _told_by(sys.exc_info()[1])
    page = render_to_string("studio/broke.html", {"heading": heading, "words": words, "typed": _typed(request)})
    return HttpResponse(page, status=status)


def _told_by(problem: BaseException | None) -> tuple[str, str, int]:
    """Heading, words and status: whether the disk or the records would not take it, or the studio is at fault."""
    said = str(problem).lower()
    of_disk = isinstance(problem, OperationalError | OSError)
    for sign, heading, mend in CANNOT_KEEP if of_disk else ():
        if sign in said:
            return heading, f"Nothing of this was kept; what was kept before is still there. {mend}", 507
    return BROKE, BROKE_WORDS, 500


def _typed(request: HttpRequest) -> list[tuple[str, str]]:
    """What was typed into the form that was sent, without keys and passwords."""
    try:
        sent = [(name, value) for name, values in request.POST.lists() for value in values]
    except (OSError, ValueError, RequestDataTooBig, TooManyFieldsSent):
        return []
    hidden = ("csrf", "password", "key", "secret", "seen", "token", "back")
    return [(n, v) for n, v in sent if v.strip() and not any(word in n.lower() for word in hidden)]
