"""Two windows that write at the same moment: one is kept, the other is told, nothing is lost."""

from __future__ import annotations

import threading
from datetime import UTC, datetime

import pytest
from django.db import connection

from wareboard.book import keeping
from wareboard.book.models import Paper

WHEN = datetime(2026, 11, 25, tzinfo=UTC)


@pytest.mark.django_db(transaction=True)
def test_of_two_writers_at_once_one_is_kept_and_the_others_are_told() -> None:
    paper = keeping.start("brief", "one", why="", who="", when=WHEN)
    assert paper.current is not None
    seen = paper.current.pk
    ready = threading.Barrier(6)
    kept, told, troubles = [], [], []

    def writes(text: str) -> None:
        try:
            ready.wait(10)
            kept.append(keeping.write(Paper.objects.get(pk=paper.pk), text, seen=seen, why="", who="", when=WHEN).text)
        except keeping.ChangedMeanwhile:
            told.append(text)
        except Exception as trouble:  # any other end of it is the fault that is looked for here
            troubles.append(trouble)
        finally:
            connection.close()

    writers = [threading.Thread(target=writes, args=(f"from window {number}",)) for number in range(6)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(30)
    assert troubles == []
    assert len(kept) == 1
    assert len(told) == 5
    paper.refresh_from_db()
    assert paper.current is not None
    assert paper.current.text == kept[0]
    assert sorted(paper.versions.values_list("number", flat=True)) == [1, 2]


@pytest.mark.django_db(transaction=True)
def test_commissions_begun_at_once_get_codes_of_their_own() -> None:
    ready = threading.Barrier(5)
    codes, troubles = [], []

    def begins() -> None:
        try:
            ready.wait(10)
            codes.append(keeping.new_commission("x", "x", why="", who="", when=WHEN).code)
        except Exception as trouble:
            troubles.append(trouble)
        finally:
            connection.close()

    writers = [threading.Thread(target=begins) for _ in range(5)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(30)
    assert troubles == []
    assert sorted(codes) == ["26-01", "26-02", "26-03", "26-04", "26-05"]
