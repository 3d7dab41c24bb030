"""Every question that a page asks of a million measurements goes by an index, as SQLite's own plan of it says."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.book_learning.conftest import LONG_AGO
from tests.book_measures.conftest import begin, measured
from wareboard.book.measures import charts, measuring, read
from wareboard.book.measures.measuring import Reading
from wareboard.book.models import Commission
from wareboard.studio.bench.weighed_boards import weighed_boards


def test_no_question_reads_all_measurements(tea: Commission, monkeypatch: pytest.MonkeyPatch) -> None:
    board = begin(tea, 12)
    for at_h, grams in ((0.0, 480.0), (9.0, 460.0)):
        measured(None, "weigh-in", grams, at_h=at_h, board=board.code, piece="1", stage="")
    for piece in range(1, 5):
        measured(tea, "height", 107.0 + piece, piece=str(piece))
        measured(tea, "height", 94.0 + piece, piece=str(piece), stage="fired")
    with CaptureQueriesContext(connection) as asked:
        charts.standing_run(tea, "Cup", "height", "thrown")
        measuring.asked_about(Reading("looked-at-1", "height", 99.0, "", LONG_AGO, tea.code, "Cup", "thrown"))
        measuring.asked_about(Reading("looked-at-2", "slip density", 1.45, "", LONG_AGO))
        measuring.asked_about(Reading("looked-at-3", "weigh-in", 450.0, "", LONG_AGO, board=board.code, piece="1"))
        measuring.last_of("Ada")
        list(read.wet_and_fired(LONG_AGO))
        read.pickups(LONG_AGO)
        read.climate(LONG_AGO)
        read.weighings(board)
        weighed_boards([board])
    own = [each["sql"] for each in asked if "measures_measurement" in each["sql"]]
    assert len(own) >= 10
    for sql in own:
        with connection.cursor() as cursor:
            cursor.execute(f"EXPLAIN QUERY PLAN {sql}")
            plan = [row[3] for row in cursor.fetchall() if "measures_measurement" in row[3]]
        assert plan, sql
        # A walk along an index that holds nothing but what is asked for ends at the limit, as a search does.
        assert all(re.search(r"SEARCH|USING (COVERING )?INDEX", line) for line in plan), (plan, sql)
        assert not any("USE TEMP B-TREE FOR ORDER BY" in line for line in plan), (plan, sql)
