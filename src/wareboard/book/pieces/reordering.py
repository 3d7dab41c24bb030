"""A commission ordered again as it was made: its brief, its figures and its glazes held, and what is no longer as it was."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db import transaction
from django.utils import timezone

from wareboard.book import keeping
from wareboard.book.boards.models import Board, Entry
from wareboard.book.firings.models import Firing, PartsChange
from wareboard.book.firings.signing import Signed, begin
from wareboard.book.glazes.models import BatchLine, GlazeBatch, RecipeVersion, TiedGlaze
from wareboard.book.learning.acting import keep_figures
from wareboard.book.learning.actual import finished_on
from wareboard.book.models import Commission, Paper, Version
from wareboard.book.people.entering import called
from wareboard.book.people.models import Person
from wareboard.book.pieces.models import ClayLot, MadeOf, Piece, Reorder, Wears
from wareboard.book.prototypes import pictures
from wareboard.errors import OutOfRange
from wareboard.plan.own import Own

UNKNOWN = "not known"
SHOWN_DIGEST = 8


@dataclass(frozen=True, slots=True)
class AsMade:
    """What a commission was made by and of, as its records say; an empty tuple where they say nothing."""

    commission: Commission
    version: Version
    made: date
    clay: tuple[ClayLot, ...]
    batches: tuple[GlazeBatch, ...]
    firings: tuple[Firing, ...]
    people: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Changed:
    """One thing that is no longer as it was, or may not be: then, now, and what to do first."""

    what: str
    then: str
    now: str
    first: str


def as_made(commission: Commission) -> AsMade:
    """What a delivered commission was made by and of.

    Raises:
        OutOfRange: if nothing of it was delivered and it is not packed either.
    """
    delivered = Piece.objects.filter(commission=commission, put_away=None, delivered__isnull=False)
    days = list(delivered.order_by("-delivered").values_list("delivered", flat=True)[:1])
    packed = finished_on(commission)
    made = days[0] if days else (packed.date() if packed else None)
    if made is None:
        raise OutOfRange(
            f"{commission.code} again",
            "nothing of it is packed or delivered yet, so that there is nothing to go by",
            "Say on its pieces' page what was delivered; to begin another like it, make a copy",
        )
    boards = Board.objects.filter(commission=commission)
    pieces = Piece.objects.filter(commission=commission, put_away=None)
    clay = (
        MadeOf.objects.filter(put_away=None, board__in=boards) | MadeOf.objects.filter(put_away=None, piece__in=pieces)
    ).values("lot")
    worn = (
        Wears.objects.filter(put_away=None, board__in=boards) | Wears.objects.filter(put_away=None, piece__in=pieces)
    ).values("batch")
    who = Entry.objects.filter(board__in=boards).exclude(who="").order_by("who").values_list("who", flat=True)
    return AsMade(
        commission,
        version_made(commission, made),
        made,
        tuple(ClayLot.objects.filter(pk__in=clay)),
        tuple(GlazeBatch.objects.filter(pk__in=worn).select_related("version__recipe")),
        _firings(commission, boards, pieces),
        tuple(dict.fromkeys(who)),
    )


def _firings(commission: Commission, boards: Iterable[Board], pieces: Iterable[Piece]) -> tuple[Firing, ...]:
    own = Firing.objects.filter(commission_code=commission.code)
    held = Firing.objects.filter(loaded__board__in=boards, loaded__put_away=None)
    graded = Firing.objects.filter(finished__in=pieces)
    rows = (own | held | graded).filter(put_away=None).select_related("kiln").distinct().order_by("day", "pk")
    return tuple(rows)


def carried_firing(code: str, kind: str) -> Firing | None:
    """The firing whose schedule a commission that was ordered again is fired by: the last of that kind of the one before.

    Of a reorder of a reorder the nearest that has one; None where nothing is carried.
    """
    again = Reorder.objects.filter(commission__code=code, put_away=None).select_related("of").first()
    seen: set[int] = set()
    while again is not None and again.of_id not in seen:
        seen.add(again.of_id)
        boards = Board.objects.filter(commission=again.of)
        pieces = Piece.objects.filter(commission=again.of, put_away=None)
        found = carried_of(_firings(again.of, boards, pieces)).get(kind)
        if found is not None:
            return found
        again = Reorder.objects.filter(commission=again.of, put_away=None).select_related("of").first()
    return None


def carried_of(firings: Iterable[Firing]) -> dict[str, Firing]:
    """The last firing of each kind that kept its schedule, oldest first given."""
    return {each.kind: each for each in firings if each.schedule}


def version_made(commission: Commission, made: date) -> Version:
    """The version of the brief by which it was made: the current one, or the last before it that was there then."""
    version = commission.paper.current
    if version is None:
        raise OutOfRange(commission.code, "it has no brief", "Restore the records from a backup")
    while version.parent is not None and timezone.localtime(version.written).date() > made:
        version = version.parent
    return version


def workshop_then(made: date) -> str | None:
    """The workshop's file as it was on that day; None where no version of it goes so far back."""
    rows = Version.objects.filter(paper__kind=Paper.Kind.WORKSHOP).order_by("-number")
    past = (row.text for row in rows if timezone.localtime(row.written).date() <= made)
    return next(past, None)


def order_again(made: AsMade, text: str, own: Own, key: str, day: date, by: Signed) -> tuple[Commission, bool]:
    """The new commission, kept once by its key; and whether it was there already.

    Its brief is ``text``, it goes by the figures ``own``, its glazes are tied to the recipe versions that were worn, and
    the marks and paintings of its forms come with it as they stood on the day it was made.
    """
    with transaction.atomic():
        Commission.objects.select_for_update().get(pk=made.commission.pk)
        known = Reorder.objects.filter(key=key[:40]).select_related("commission").first()
        if known is not None:
            return known.commission, True
        name = f"{made.commission.name} (again)"
        why = f"Ordered again as {made.commission.code} was made (version {made.version.number})"
        new = keeping.new_commission(text, name, why=why, who=by.who, when=by.when)
        row = Reorder(commission=new, of=made.commission, version=made.version, key=key[:40], made=made.made, day=day)
        begin(row, why, by)
        keep_figures(new, own, made.made, f"As {made.commission.code} was made", by)
        for tie in TiedGlaze.objects.filter(commission_code=made.commission.code, put_away=None):
            begin(TiedGlaze(commission_code=new.code, glaze=tie.glaze, version=_worn(tie, made)), why, by)
        pictures.copy_all(made.commission, new, why, by, made.made)
    return new, False


def _worn(tie: TiedGlaze, made: AsMade) -> RecipeVersion:
    """The version of a tied recipe that was worn last; the tied one where no bucket of it is known."""
    own = [each.version for each in made.batches if each.version.recipe_id == tie.version.recipe_id]
    return max(own, key=lambda each: each.number) if own else tie.version


def changed_since(made: AsMade, kilns_now: Collection[str], day: date) -> list[Changed]:
    """What is no longer as it was, or cannot be told: clay, glazes, raw materials, kilns, hands, marks and paintings."""
    return [
        *_clay(made),
        *_glazes(made),
        *_materials(made),
        *_kilns(made, kilns_now),
        *_people(made, day),
        *_pictures(made),
    ]


TEST_CLAY = "Fire a shrinkage bar and a glazed tile of the new lot before anything is thrown"


def _clay(made: AsMade) -> list[Changed]:
    if not made.clay:
        first = "Fire a shrinkage bar of the clay at hand and compare it with the brief's figure"
        return [Changed("clay lot", UNKNOWN, "cannot be compared", first)]
    found = []
    for lot in made.clay:
        others = ClayLot.objects.filter(clay__iexact=lot.clay, put_away=None).exclude(pk__in=[e.pk for e in made.clay])
        newer = [each for each in others if (each.bought or date.min, each.pk) > (lot.bought or date.min, lot.pk)]
        words = ", ".join(f"lot {each.code or UNKNOWN}" for each in newer)
        if lot.put_away is not None and not others.exists():
            first = "Order it, or choose another clay and test shrinkage, absorption and how the glazes fit"
            found.append(Changed(lot.clay, f"lot {lot.code or UNKNOWN}", "gone; no other lot of it is kept", first))
        elif lot.put_away is not None:
            there = words or ", ".join(f"lot {each.code or UNKNOWN}" for each in others)
            found.append(Changed(lot.clay, f"lot {lot.code or UNKNOWN}", f"gone; there is {there}", TEST_CLAY))
        elif newer:
            found.append(Changed(lot.clay, f"lot {lot.code or UNKNOWN}", f"newer: {words}", TEST_CLAY))
    return found


def _glazes(made: AsMade) -> list[Changed]:
    if not made.batches:
        return [Changed("glaze batch", UNKNOWN, "cannot be compared", "Dip and fire a tile beside a kept piece")]
    found = []
    versions = {each.version_id: each.version for each in made.batches}.values()
    for version in versions:
        current, recipe = version.recipe.current, version.recipe
        if recipe.put_away is not None:
            found.append(
                Changed(recipe.name, f"version {version.number}", "recipe put away", "Fetch it back, or mix it")
            )
        elif current is not None and current.pk != version.pk:
            first = f"This commission is tied to version {version.number}; mix that one"
            found.append(Changed(recipe.name, f"version {version.number}", f"version {current.number}", first))
        if not any(each.put_away is None for each in made.batches if each.version_id == version.pk):
            numbers = ", ".join(str(each.number) for each in made.batches if each.version_id == version.pk)
            first = "Mix it anew and fire a tile beside a kept piece"
            found.append(Changed(f"{recipe.name}, bucket", f"batch {numbers}", "used up or put away", first))
    return found


def _materials(made: AsMade) -> list[Changed]:
    lines = BatchLine.objects.filter(batch__in=made.batches).exclude(lot=None).select_related("lot__material")
    lots = {line.lot_id: line.lot for line in lines if line.lot is not None}
    found = []
    for lot in lots.values():
        if lot.replaced_by is None and lot.put_away is None and lot.stock_g != 0.0:
            continue
        newest = lot.material.lots.filter(put_away=None).exclude(pk=lot.pk).order_by("-day", "-pk").first()
        now = f"lot {newest.code}{_price(newest.price_per_kg)}" if newest else "gone; no other lot of it is kept"
        then = f"lot {lot.code}{_price(lot.price_per_kg)}"
        found.append(Changed(lot.material.name, then, now, "Compare the analyses; fire a tile of the new lot"))
    return found


def _price(per_kg: float | None) -> str:
    return f" at {per_kg:g} a kg" if per_kg is not None else ""


def _kilns(made: AsMade, kilns_now: Collection[str]) -> list[Changed]:
    if not made.firings:
        return [Changed("firings", UNKNOWN, "cannot be compared", "Fire a test with witness cones on every level")]
    found = []
    for kiln in {each.kiln_id: each.kiln for each in made.firings}.values():
        last = max(each.number for each in made.firings if each.kiln_id == kiln.pk)
        day = max(each.day for each in made.firings if each.kiln_id == kiln.pk)
        if kilns_now and kiln.name not in kilns_now:
            now = "not in the workshop's file"
            found.append(Changed(kiln.name, "fired in it", now, "Choose a kiln in the brief and fire a test"))
        parts = PartsChange.objects.filter(kiln=kiln, put_away=None)
        for part in (each for each in parts if each.day > day or each.after_firing >= last):
            then, now = f"as in firing {last}", f"changed on {part.day:%d %b %Y}"
            words = f"{kiln.name}, {part.get_part_display().lower()}"
            found.append(Changed(words, then, now, "Fire with witness cones first: its offsets may have moved"))
        since = Firing.objects.filter(kiln=kiln, number__gt=last, put_away=None).count()
        if since:
            first = "Look at its wear and offsets on the kiln's page"
            found.append(Changed(f"{kiln.name}, use", f"firing {last}", f"{since} firings on", first))
    return found


def _people(made: AsMade, day: date) -> list[Changed]:
    known = {each.called: each for each in Person.objects.all()}
    since = timezone.make_aware(datetime.combine(day, time.min)) - timedelta(days=180)
    busy = {called(name) for name in Entry.objects.filter(written__gte=since).values_list("who", flat=True).distinct()}
    found = []
    for name in made.people:
        person = known.get(called(name))
        if person is not None and person.left is not None:
            now = f"left on {timezone.localtime(person.left):%d %b %Y}"
        elif called(name) not in busy:
            now = "has entered nothing for half a year"
        else:
            continue
        found.append(Changed(name, "made it", now, "Another hand: throw a trial and take its times anew"))
    return found


def _pictures(made: AsMade) -> list[Changed]:
    then, now = (pictures.stood_on(made.commission, day) for day in (made.made, None))
    found = []
    for key in sorted({*then, *now}):
        was, is_now = (
            f"picture {pictures.file_then(side, key).digest[:SHOWN_DIGEST]}" if key in side else "none"
            for side in (then, now)
        )
        if was != is_now:
            row = then.get(key) or now[key]
            first = f"It is ordered with the one of that day; give another on the {row.kind}'s page if that is meant"
            found.append(Changed(f"{row.kind} of {row.form}", was, is_now, first))
    return found
