"""The plan that is asked for first is there before anybody asks."""

from __future__ import annotations

import pytest
from django.core.signals import request_finished

from tests.studio.conftest import CUPS
from wareboard.book import keeping
from wareboard.book.models import Commission
from wareboard.errors import WareboardError
from wareboard.studio import beforehand, plans
from wareboard.studio.today import now

pytestmark = pytest.mark.django_db


@pytest.fixture
def worked_out(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The title of each plan that is worked out from here on."""
    done: list[str] = []
    work = plans._worked_out

    def watched(text: str, on: plans.Basis, seconds: float) -> plans.Plan | plans.Trouble:
        done.append(text.split('"')[1])
        return work(text, on, seconds)

    monkeypatch.setattr(plans, "_worked_out", watched)
    plans.forget()
    return done


def begun(title: str, text: str = CUPS) -> Commission:
    return keeping.new_commission(text.replace("Cups for a tea room", title), title, why="Begun", who="", when=now())


def test_the_commission_written_in_last_is_planned_and_its_page_works_nothing_out(client, worked_out) -> None:  # type: ignore[no-untyped-def]
    begun("First")
    last = begun("Last")
    away = begun("Put away")
    keeping.put_away(away, now())
    beforehand.newest_plan()
    assert worked_out == ["Last"]
    assert client.get(f"/commissions/{last.code}/").status_code == 200
    assert worked_out == ["Last"]


def test_without_a_commission_nothing_is_worked_out(worked_out: list[str]) -> None:
    beforehand.newest_plan()
    assert worked_out == []


def test_a_brief_that_cannot_be_planned_stops_nothing(worked_out: list[str], caplog: pytest.LogCaptureFixture) -> None:
    begun("Odd", CUPS.replace('"84 mm"', '"84 parsecs"'))
    with pytest.raises(WareboardError):
        beforehand.newest_plan()
    caplog.set_level("INFO")
    beforehand.without_a_word()
    assert "nothing was worked out beforehand" in caplog.text


def test_it_begins_after_the_first_answer_and_only_once(monkeypatch: pytest.MonkeyPatch) -> None:
    begun_at: list[str] = []
    monkeypatch.setattr(beforehand, "_on_its_own", lambda: begun_at.append("begun"))
    thread = beforehand.after_the_first_page()
    beforehand.ended(thread)
    assert begun_at == []
    for _ in range(3):
        request_finished.send(sender=None)
    thread.join(10)
    assert begun_at == ["begun"]
