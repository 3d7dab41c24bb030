"""Papers keep every version; undo, redo and bringing back move between them and lose nothing."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from wareboard.book import keeping
from wareboard.book.models import Commission, Paper, Version

WHEN = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


def begun(text: str = "one") -> Paper:
    return keeping.start("brief", text, why="Begun", who="Ada", when=WHEN)


def put(paper: Paper, text: str, seen: int | None = None) -> Version:
    return keeping.write(paper, text, seen=seen, why=f"now {text}", who="", when=WHEN)


def text_of(paper: Paper) -> str:
    paper.refresh_from_db()
    assert paper.current is not None
    return paper.current.text


@pytest.mark.django_db
def test_a_new_version_leaves_the_old_one_as_it_was() -> None:
    paper = begun()
    put(paper, "two")
    assert [(version.number, version.text) for version in paper.versions.order_by("number")] == [(1, "one"), (2, "two")]
    assert text_of(paper) == "two"


@pytest.mark.django_db
def test_writing_the_same_text_makes_no_version() -> None:
    paper = begun()
    assert put(paper, "one").number == 1
    assert paper.versions.count() == 1


@pytest.mark.django_db
def test_undo_and_redo_go_back_and_forth() -> None:
    paper = begun()
    put(paper, "two")
    put(paper, "three")
    keeping.undo(paper)
    keeping.undo(paper)
    assert text_of(paper) == "one"
    assert not keeping.can_undo(paper)
    assert keeping.can_redo(paper)
    keeping.redo(paper)
    keeping.redo(paper)
    assert text_of(paper) == "three"
    assert not keeping.can_redo(paper)


@pytest.mark.django_db
def test_undo_of_the_first_version_is_refused_in_words() -> None:
    paper = begun()
    with pytest.raises(keeping.NothingThere, match="nothing to undo"):
        keeping.undo(paper)
    with pytest.raises(keeping.NothingThere, match="nothing to redo"):
        keeping.redo(paper)


@pytest.mark.django_db
def test_after_undo_and_a_new_change_the_undone_version_is_still_there_and_can_be_brought_back() -> None:
    paper = begun()
    put(paper, "two")
    keeping.undo(paper)
    put(paper, "other two")
    keeping.bring_back(paper, 2, who="Ada", when=WHEN)
    assert text_of(paper) == "two"
    keeping.undo(paper)
    assert text_of(paper) == "other two"


@pytest.mark.django_db
def test_bringing_back_a_version_that_is_not_there_is_refused() -> None:
    with pytest.raises(keeping.NothingThere, match="version 9"):
        keeping.bring_back(begun(), 9, who="", when=WHEN)


@pytest.mark.django_db
def test_a_writer_who_has_not_seen_the_latest_version_is_told_and_nothing_is_written() -> None:
    paper = begun()
    first = paper.current
    assert first is not None
    put(paper, "two", seen=first.pk)
    with pytest.raises(keeping.ChangedMeanwhile) as told:
        put(paper, "mine", seen=first.pk)
    assert told.value.now.text == "two"
    assert text_of(paper) == "two"
    assert paper.versions.count() == 2


@pytest.mark.django_db
def test_codes_count_up_within_a_year_and_begin_anew_in_the_next() -> None:
    made = [keeping.new_commission("x", "x", why="", who="", when=WHEN).code for _ in range(3)]
    later = keeping.new_commission("x", "x", why="", who="", when=WHEN.replace(year=2027)).code
    assert (made, later) == (["26-01", "26-02", "26-03"], "27-01")


@pytest.mark.django_db
def test_a_commission_put_away_keeps_its_versions_and_can_be_fetched_back() -> None:
    commission = keeping.new_commission("x", "x", why="", who="", when=WHEN)
    keeping.put_away(commission, WHEN)
    assert Commission.objects.get().put_away == WHEN
    keeping.fetch_back(commission)
    assert Commission.objects.get().put_away is None
    assert Version.objects.count() == 1


@pytest.mark.django_db
def test_there_is_one_workshop_file_only() -> None:
    from django.db import IntegrityError

    keeping.start(Paper.Kind.WORKSHOP, "a", why="", who="", when=WHEN)
    with pytest.raises(IntegrityError):
        keeping.start(Paper.Kind.WORKSHOP, "b", why="", who="", when=WHEN)


class AnyWalk(TestCase):
    """Laws that hold for any run of changes, undos and redos."""

    @settings(max_examples=40, deadline=None)
    @given(st.lists(st.one_of(st.sampled_from(["undo", "redo"]), st.integers(0, 4).map(str)), max_size=14))
    def test_it_reads_as_a_plain_list_with_a_finger_on_it_would(self, moves: list[str]) -> None:
        """A second, naive way: the line of texts, and a finger on the one that counts."""
        paper = begun("start")
        line, finger = ["start"], 0
        written = 1
        for move in moves:
            if move == "undo":
                if finger:
                    keeping.undo(paper)
                    finger -= 1
            elif move == "redo":
                if finger < len(line) - 1:
                    keeping.redo(paper)
                    finger += 1
            else:
                if move != line[finger]:
                    line, finger = [*line[: finger + 1], move], finger + 1
                    written += 1
                put(paper, move)
            assert text_of(paper) == line[finger]
        assert paper.versions.count() == written
