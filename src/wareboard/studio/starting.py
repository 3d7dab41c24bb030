"""Starting a commission: from four numbers, or from a brief's file or text."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods
from django.views.decorators.vary import vary_on_headers

from wareboard.book import keeping
from wareboard.errors import OutOfRange, Problems, Unreadable, WareboardError
from wareboard.named_file import MOST_BYTES_OF_TEXT
from wareboard.plan.reading import four_number_brief, read_brief
from wareboard.plan.workshop import Workshop
from wareboard.studio import plans
from wareboard.studio.answer import quick_answer
from wareboard.studio.context import asked_of, who
from wareboard.studio.naming import name_in
from wareboard.studio.paper_form import Trouble
from wareboard.studio.today import now

PLACES = {
    "forms 1, height": "height",
    "forms 1, rim": "rim",
    "forms 1, count": "count",
    "forms 1, name": "name",
    "forms 1": "height",
    "clay, shrinkage": "shrinkage",
    "clay": "shrinkage",
    "due": "due",
}
LABELS = {
    "height": "Fired height",
    "rim": "Fired width",
    "shrinkage": "Shrinkage",
    "count": "How many",
    "due": "By when",
    "name": "What it is",
}
NEEDED = {
    "height": "A plan needs a fired size. Write the height, the width, or both.",
    "shrinkage": "A plan needs the clay’s shrinkage. It stands on the bag; 12 % is a usual one.",
    "count": "A plan needs how many are wanted. Write a whole number such as 24.",
    "due": "A plan needs a day. Choose the one by which all must be ready.",
}


@dataclass(slots=True)
class FourNumbers:
    """What was typed for the four numbers, and what is wrong with it."""

    height: str = ""
    rim: str = ""
    shrinkage: str = ""
    count: str = ""
    due: str = ""
    name: str = ""
    errors: dict[str, list[str]] = field(default_factory=dict)
    troubles: list[Trouble] = field(default_factory=list)

    @property
    def begun(self) -> bool:
        return any((self.height, self.rim, self.shrinkage, self.count, self.due))

    @property
    def complete(self) -> bool:
        return bool((self.height or self.rim) and self.shrinkage and self.count and self.due)

    def text(self) -> str:
        """The brief's text."""
        name = self.name or "piece"
        return four_number_brief(
            height=self.height,
            rim=self.rim,
            shrinkage=with_percent(self.shrinkage),
            count=self.count,
            due=self.due,
            name=name,
        )

    @property
    def missing(self) -> tuple[str, ...]:
        """The boxes that a plan needs and that are empty."""
        empty = [box for box in NEEDED if not getattr(self, box)]
        return tuple(box for box in empty if box != "height" or not self.rim)

    def tell_missing(self) -> None:
        """Say which of the four numbers are not there yet."""
        for box in self.missing:
            self.errors.setdefault(box, []).append(NEEDED[box])
            self.troubles.append(Trouble(NEEDED[box], f"four-{box}", LABELS[box]))

    def tell(self, problem: WareboardError) -> None:
        """Put what is wrong beside its box."""
        for each in problem.problems if isinstance(problem, Problems) else (problem,):
            place = each.where.rpartition(", line")[0] or each.where
            box = PLACES.get(place, "")
            if box in self.missing:
                continue  # told in plainer words
            words = f"{each.what}: {each.why}. {each.mend}." if box else str(each)
            self.errors.setdefault(box, []).append(words)
            self.troubles.append(Trouble(words, box and f"four-{box}", LABELS.get(box, "")))


def with_percent(written: str) -> str:
    """The box says per cent, so a bare 12 there is 12 %; a bare 0.12 is already a share."""
    try:
        return f"{written} %" if float(written.replace(",", ".")) >= 1 else written
    except ValueError:
        return written


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def four_numbers(request: HttpRequest) -> HttpResponse:
    """Four numbers and their answer; saved as a commission when it is asked for."""
    typed = FourNumbers()
    for key in LABELS:
        setattr(typed, key, request.POST.get(key, "").strip())
    answer = None
    asked = asked_of(request, usual="")
    if request.method == "POST" and (typed.complete or asked):
        typed.tell_missing()
        try:
            on = plans.basis()
            text = typed.text()
            read_brief(text, workshop=plans.workshop_of(on), today=on.day, own=on.own)
            plan = plans.plan_of(text, on)
            if asked == "save":
                return _saved(request, text, "Begun from four numbers")
            answer = quick_answer(plan)
        except WareboardError as problem:
            typed.tell(problem)
    context = {"typed": typed, "answer": answer, "at": "four-numbers", "steps": answer.steps if answer else None}
    if getattr(request, "htmx", False):
        return render(request, "studio/_quick_answer.html", context)
    return render(request, "studio/four_numbers.html", context, status=422 if typed.troubles else 200)


@require_http_methods(["GET", "POST"])
def from_a_file(request: HttpRequest) -> HttpResponse:
    """A commission from a brief's file, or from its text put into a box."""
    text, troubles = request.POST.get("text", "").replace("\r\n", "\n"), []
    if request.method == "POST":
        try:
            upload = request.FILES.get("file")
            if upload is not None:
                text = _text_in(upload)
            if not text.strip():
                raise Unreadable(
                    "nothing", "no file was chosen and the box is empty", "Choose a file, or put its text in"
                )
            read_brief(text, workshop=Workshop(), clay_from_records=True)
            return _saved(request, text, "Taken in from a file")
        except WareboardError as problem:
            each = problem.problems if isinstance(problem, Problems) else (problem,)
            troubles = [Trouble(str(one), "brief-text", "The brief's text") for one in each]
    context = {"text": text, "troubles": troubles, "at": "four-numbers"}
    return render(request, "studio/from_a_file.html", context, status=422 if troubles else 200)


def _text_in(upload: UploadedFile[Any]) -> str:
    if (upload.size or 0) > MOST_BYTES_OF_TEXT:
        raise OutOfRange(str(upload.name), "it is far larger than any brief", "Choose the brief's .toml file")
    try:
        whole: bytes = upload.read()
        return whole.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError:
        raise Unreadable(str(upload.name), "it is not plain text in UTF-8", "Choose the brief's .toml file") from None


def begun_with(request: HttpRequest, text: str, why: str) -> HttpResponse:
    """The commission kept that a brief's text describes.

    Raises:
        WareboardError: for a text that is no brief.
    """
    on = plans.basis()
    read_brief(text, workshop=plans.workshop_of(on), today=on.day, own=on.own)
    return _saved(request, text, why)


def _saved(request: HttpRequest, text: str, why: str) -> HttpResponse:
    commission = keeping.new_commission(text, name_in(text), why=why, who=who(request), when=now())
    if commission.paper.current is not None:
        plans.headline_of(commission.paper.current, plans.basis())
    messages.success(request, f"{commission.name} is kept as {commission.code}.")
    return HttpResponseRedirect(reverse("answers", args=[commission.code]))
