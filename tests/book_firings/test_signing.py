"""Every change is signed and can be undone, done again, and the record fetched back."""

from __future__ import annotations

from datetime import date

import pytest

from tests.book_firings.conftest import BY, glaze_fields
from wareboard.book.firings import recording, signing
from wareboard.book.firings.models import Change, Firing, Kiln
from wareboard.book.keeping import NothingThere


def test_a_firing_is_numbered_within_its_kiln_and_a_number_is_never_used_twice(kiln: Kiln) -> None:
    first, second = (recording.new_firing(kiln, glaze_fields(), BY) for _ in range(2))
    signing.put_away(second, "Put away", BY)
    assert [first.number, second.number, recording.new_firing(kiln, glaze_fields(), BY).number] == [1, 2, 3]
    other = recording.kiln_named("Test kiln", BY)
    assert recording.new_firing(other, glaze_fields(), BY).number == 1


def test_changes_are_undone_one_after_the_other_and_done_again(firing: Firing) -> None:
    signing.change(firing, {"kwh": 60.0}, "Meter read", BY)
    signing.change(firing, {"kwh": 66.0, "day": date(2026, 11, 21)}, "Meter read again", BY)
    assert signing.undo(firing, BY).kwh == 60.0
    assert signing.undo(firing, BY).kwh is None
    again = signing.redo(firing, BY)
    assert (again.kwh, again.day) == (60.0, date(2026, 11, 20))
    again = signing.redo(firing, BY)
    assert (again.kwh, again.day) == (66.0, date(2026, 11, 21))
    with pytest.raises(NothingThere):
        signing.redo(firing, BY)
    assert signing.undo(firing, BY).kwh == 60.0


def test_undoing_the_beginning_puts_away_and_redo_fetches_back(firing: Firing) -> None:
    assert signing.undo(firing, BY).put_away is not None
    with pytest.raises(NothingThere):
        signing.undo(firing, BY)
    assert signing.redo(firing, BY).put_away is None
    assert Firing.objects.count() == 1


def test_what_was_written_after_an_undo_ends_redo(firing: Firing) -> None:
    signing.change(firing, {"kwh": 60.0}, "Meter read", BY)
    signing.undo(firing, BY)
    signing.change(firing, {"notes": "lid propped"}, "Noted", BY)
    with pytest.raises(NothingThere):
        signing.redo(firing, BY)
    after = signing.undo(firing, BY)
    assert (after.notes, after.kwh) == ("", None)


def test_every_change_says_who_and_when_and_one_that_changes_nothing_is_none(firing: Firing) -> None:
    signing.change(firing, {"cone": "6"}, "The same", BY)
    assert [(each.why, each.who, each.written) for each in signing.history(firing)] == [
        ("Recorded", "Invented", BY.when)
    ]


def test_a_write_that_fails_leaves_nothing_behind(firing: Firing, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(**_: object) -> None:
        raise RuntimeError("the disk is full")

    monkeypatch.setattr(Change.objects, "create", broken)
    with pytest.raises(RuntimeError):
        signing.change(firing, {"kwh": 60.0}, "Meter read", BY)
    firing.refresh_from_db()
    assert firing.kwh is None


def test_a_name_that_stands_in_addresses_gets_another(db: None) -> None:
    assert recording.kiln_named("Schedule", BY).slug == "kiln-schedule"
    assert recording.kiln_named("Big kiln", BY).slug == "big-kiln"
    assert recording.kiln_named("big-kiln!", BY).slug == "big-kiln-2"
    assert recording.kiln_named("Big kiln", BY).slug == "big-kiln"
