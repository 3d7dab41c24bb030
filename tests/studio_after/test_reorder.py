"""A delivered commission ordered again: what is held, what has changed since, and what is refused."""

from __future__ import annotations

import io
from datetime import date, datetime, time, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from tests.book_pieces.conftest import BY, bucket, lot
from tests.studio.conftest import DAY
from wareboard.book.boards.models import Board
from wareboard.book.firings import signing
from wareboard.book.firings.log_summary import schedule_data
from wareboard.book.firings.models import Firing, PartsChange
from wareboard.book.firings.signing import Signed
from wareboard.book.glazes.models import RecipeVersion, TiedGlaze
from wareboard.book.learning.models import FiguresKept
from wareboard.book.models import Commission
from wareboard.book.pieces.models import ClayLot, Piece, Reorder
from wareboard.book.pieces.reordering import as_made, changed_since
from wareboard.book.prototypes import pictures
from wareboard.errors import OutOfRange
from wareboard.kiln.schedule import glaze_schedule
from wareboard.plan.workshop import Firing as FiringHabits
from wareboard.studio.kilns.firing_form import to_begin

pytestmark = pytest.mark.django_db
DUE = {"due": "2027-09-01", "key": "again-1"}


def changes(board: Board) -> dict[str, str]:
    return {each.what: each.now for each in changed_since(as_made(board.commission), (), DAY)}


def test_a_commission_of_which_nothing_was_delivered_is_not_ordered_again(studio: Client, demo: Commission) -> None:
    with pytest.raises(OutOfRange, match="nothing of it is packed or delivered"):
        as_made(demo)
    answer = studio.post(f"/pieces/{demo.code}/again/", DUE)
    assert answer.status_code == 422
    assert "make a copy" in answer.content.decode()
    assert Commission.objects.count() == 1


def test_the_new_one_holds_brief_figures_and_glaze_version_and_a_double_tap_makes_one(
    studio: Client, cups_done: Board
) -> None:
    old = cups_done.commission
    heron = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 60"><path d="M5 55 L20 20"/></svg>'
    pictures.keep(old, "mark", "Cup", (heron, "heron.svg"), {"height": "20 mm"}, BY)
    worn = cups_done.wears.get().batch.version
    later = RecipeVersion.objects.create(recipe=worn.recipe, number=2, base=[["whiting", 90.0]], written=BY.when)
    worn.recipe.current = later
    worn.recipe.save()
    signing.begin(TiedGlaze(commission_code=old.code, glaze="White", version=later), "Tied", BY)
    for _ in range(2):
        assert studio.post(f"/pieces/{old.code}/again/", DUE).status_code == 302
    row = Reorder.objects.get()
    new = row.commission
    assert row.of == old
    mark = pictures.standing(new, "mark", "Cup")
    assert mark is not None
    assert (pictures.bytes_of(mark), mark.given) == (heron, {"height": "20 mm"})
    assert new.paper.current is not None
    assert old.paper.current is not None
    assert "due = 2027-09-01" in new.paper.current.text
    was, now = (
        {line for line in text.splitlines() if not line.startswith(("due", "start"))}
        for text in (old.paper.current.text, new.paper.current.text)
    )
    assert was == now
    assert FiguresKept.objects.get(commission=new).put_away is None
    assert TiedGlaze.objects.get(commission_code=new.code).version == worn  # what was worn, not what is tied by now
    shown = studio.get(f"/pieces/{new.code}/as-made/").content.decode()
    assert "version 1 → version 2" in shown
    assert "cannot be compared" not in shown
    assert "Cost of making" in shown


def test_nothing_is_listed_where_lots_recipes_kiln_and_hands_are_the_same(cups_done: Board) -> None:
    assert changes(cups_done) == {}


def test_a_clay_that_is_gone_and_one_that_has_a_newer_lot_are_told_apart(cups_done: Board) -> None:
    first = ClayLot.objects.get()
    signing.put_away(first, "Used up", BY)
    assert changes(cups_done)["Invented stoneware"] == "gone; no other lot of it is kept"
    lot("L-2")
    assert changes(cups_done)["Invented stoneware"] == "gone; there is lot L-2"
    signing.fetch_back(ClayLot.objects.get(pk=first.pk), "Found a bag", BY)
    assert changes(cups_done)["Invented stoneware"] == "newer: lot L-2"


def test_clay_and_glaze_that_nobody_wrote_down_are_said_not_to_be_comparable(cups_done: Board) -> None:
    for row in (*cups_done.made_of.all(), *cups_done.wears.all()):
        signing.put_away(row, "Not that", BY)
    found = changes(cups_done)
    assert found["clay lot"] == found["glaze batch"] == "cannot be compared"


def test_new_elements_and_firings_since_are_listed(cups_done: Board) -> None:
    kiln = as_made(cups_done.commission).firings[0].kiln
    day = as_made(cups_done.commission).firings[0].day + timedelta(days=9)
    signing.begin(PartsChange(kiln=kiln, part="elements", day=day, after_firing=1), "Changed", BY)
    assert changes(cups_done)["Invented kiln, elements"].startswith("changed on")


def test_a_used_up_bucket_is_listed_with_its_number(cups_done: Board) -> None:
    bucket(2, "Another")
    signing.put_away(cups_done.wears.get().batch, "Empty", BY)
    assert changes(cups_done)["White, bucket"] == "used up or put away"


def test_a_day_that_is_none_or_past_is_refused_and_what_was_typed_stays(studio: Client, cups_done: Board) -> None:
    for typed in ("soon", "1999-01-01"):
        answer = studio.post(f"/pieces/{cups_done.commission.code}/again/", {"due": typed, "key": "x"})
        assert answer.status_code == 422
        assert typed in answer.content.decode()
    assert not Reorder.objects.exists()


def test_a_version_written_after_delivery_is_not_what_it_was_made_by(studio: Client, cups_done: Board) -> None:
    from wareboard.book import keeping

    commission = cups_done.commission
    Piece.objects.filter(delivered__isnull=False).update(delivered=date(2026, 11, 25))
    paper = commission.paper
    assert paper.current is not None
    paper.versions.update(written=BY.when)
    text = paper.current.text + "\n# written long after\n"
    keeping.write(paper, text, seen=None, why="Afterwards", who="", when=BY.when + timedelta(days=60))
    assert as_made(Commission.objects.get(pk=commission.pk)).version.number == 1


def test_dearer_clay_shows_in_cost_and_quote_and_moves_neither_clay_nor_count(cups_done: Board) -> None:
    """Only the clay's price was changed: what does not depend on it must say the same on both sides."""
    from wareboard.book import keeping
    from wareboard.book.models import Paper
    from wareboard.studio import plans, workshop_file
    from wareboard.studio.after.reorders import look

    then = workshop_file.text()
    keeping.start(Paper.Kind.WORKSHOP, then, why="As found", who="", when=BY.when)
    Piece.objects.filter(delivered__isnull=False).update(delivered=BY.when.date())
    workshop_file.place().write_text(then + "\n[prices]\nclay_per_kg = 99\n", encoding="utf-8")
    found = look(cups_done.commission, plans.basis())
    assert found.troubles == ()
    rows = {each.name: each for each in found.figures}
    assert rows["cost of making"].then != rows["cost of making"].prices
    assert rows["quote"].then != rows["quote"].prices
    assert rows["clay to weigh out"].then == rows["clay to weigh out"].prices
    assert rows["Handled cup to start"].then == rows["Handled cup to start"].prices
    assert ("now", "clay_per_kg = 99") in found.workshop


def test_saying_what_was_delivered_keeps_how_the_workshops_file_stood(studio: Client, cups_done: Board) -> None:
    from wareboard.book.pieces.reordering import workshop_then
    from wareboard.studio import workshop_file
    from wareboard.studio.today import today

    assert workshop_then(today()) is None
    then = workshop_file.text()
    studio.post(f"/pieces/{cups_done.commission.code}/delivered/", {"piece": "2", "do": "delivered"})
    assert workshop_then(today()) == then
    assert workshop_then(today() - timedelta(days=1)) is None


def test_the_schedules_it_was_fired_by_are_carried_into_the_new_one(studio: Client, cups_done: Board) -> None:
    old = cups_done.commission
    done = as_made(old).firings[-1]
    made = schedule_data(glaze_schedule(done.cone, 42.0))
    Firing.objects.filter(pk=done.pk).update(schedule=made, commission_code=old.code, kind="glaze")
    assert (
        "carried into the new one" not in studio.get(f"/pieces/{old.code}/again/").content.decode().split("Firings")[0]
    )
    assert "carried into the new one" in studio.get(f"/pieces/{old.code}/again/").content.decode()
    assert studio.post(f"/pieces/{old.code}/again/", DUE).status_code == 302
    new = Reorder.objects.get().commission
    asked = {"kind": "glaze", "commission": new.code, "load": "1"}
    begun = to_begin(asked, FiringHabits())
    assert "; 42 " in begun["schedule"]
    assert "; 42 " not in to_begin({"kind": "glaze"}, FiringHabits())["schedule"]
    assert (
        "; 42 " not in to_begin({**asked, "cone": "04"}, FiringHabits())["schedule"]
    )  # another cone is another firing
    page = studio.get(reverse("new-firing", args=[done.kiln.slug]), asked)
    assert "for the commission that this one repeats" in page.content.decode()
    signing.put_away(Reorder.objects.get(), "Not that", BY)
    assert "; 42 " not in to_begin(asked, FiringHabits())["schedule"]


def test_a_mark_replaced_since_comes_as_it_was_on_the_day_it_was_made(studio: Client, cups_done: Board) -> None:
    old = cups_done.commission
    made = as_made(old).made
    then = Signed("Ada", timezone.make_aware(datetime.combine(made - timedelta(days=9), time(12))))
    later = Signed("Ada", timezone.make_aware(datetime.combine(made + timedelta(days=9), time(12))))
    lines = (
        b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 60"><path d="M5 %d L20 20"/></svg>' % y
        for y in (50, 40)
    )
    first, second = lines
    heron = pictures.keep(old, "mark", "Cup", (first, "heron.svg"), {"height": "20 mm"}, then)
    pictures.keep(old, "mark", "Bowl", None, {"height": "9 mm"}, then, same_as=heron)
    pictures.keep(old, "mark", "Cup", (second, "second.svg"), {"height": "22 mm"}, later)
    pictures.keep(old, "painting", "Cup", (png(), "reeds.png"), {}, later)  # came into the records afterwards
    told = changes(cups_done)
    assert told["mark of Cup"].startswith("picture ")
    assert told["mark of Bowl"] == told["mark of Cup"]
    assert "painting of Cup" not in told
    studio.post(f"/pieces/{old.code}/again/", DUE)
    new = Reorder.objects.get().commission
    cup, bowl = (pictures.standing(new, "mark", form) for form in ("Cup", "Bowl"))
    assert cup is not None
    assert bowl is not None
    assert (pictures.bytes_of(cup), cup.given) == (first, {"height": "20 mm"})
    assert (bowl.same_as, pictures.bytes_of(bowl)) == (cup, first)
    assert pictures.standing(new, "painting", "Cup") is not None


def png() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (40, 30), (90, 60, 40)).save(out, "PNG")
    return out.getvalue()
