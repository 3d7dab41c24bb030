"""Records from before marks and paintings were kept for each form: what stands is kept, nothing is told as changed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from tests.studio.conftest import CUPS
from tests.studio_prototypes.test_several_forms import SET
from wareboard.book import keeping
from wareboard.book.firings.signing import Signed
from wareboard.book.models import Commission
from wareboard.book.prototypes import approving, pictures
from wareboard.book.prototypes.models import Approval
from wareboard.studio import plans
from wareboard.studio.today import now

pytestmark = pytest.mark.django_db(transaction=True)
BEFORE, AFTER = [("prototypes", "0001_first")], [("prototypes", "0003_one_for_a_form")]


def migrated(to: list[tuple[str, str]]) -> Any:
    MigrationExecutor(connection).migrate(to)
    return MigrationExecutor(connection).loader.project_state(to).apps


@pytest.fixture
def old(db: None) -> Iterator[Any]:
    """The records as they were described before; brought up to today's afterwards whatever happens."""
    try:
        yield migrated(BEFORE)
    finally:
        migrated(AFTER)


def kept_before(apps: Any, commission: Commission, kind: str, given: dict[str, str]) -> str:
    data = f"{kind} of {commission.code}".encode()
    file = apps.get_model("firings", "KeptFile").objects.create(
        name=f"{kind}.png", kind="image/png", digest=kind[0] * 64, size=len(data), content=data, written=now()
    )
    apps.get_model("prototypes", "ClientPicture").objects.create(
        commission_id=commission.pk, kind=kind, file_id=file.pk, given=given
    )
    return str(file.digest)


def test_the_one_mark_goes_to_the_form_it_was_drawn_for(old: Any) -> None:
    a_set = keeping.new_commission(SET, "A set", why="Begun", who="", when=now())
    cups = keeping.new_commission(CUPS, "Cups", why="Begun", who="", when=now())
    kept_before(old, a_set, "mark", {"form": "Bowl", "height": "12 mm"})
    kept_before(old, a_set, "painting", {"coats": "4"})  # names none
    kept_before(old, cups, "mark", {"form": "Cup"})
    migrated(AFTER)
    assert [(row.kind, row.form, row.given) for row in pictures.all_of(a_set)] == [
        ("mark", "Bowl", {"height": "12 mm"}),
        ("painting", "Cup", {"coats": "4"}),
    ]
    found = pictures.standing(cups, "mark", "Cup")
    assert found is not None
    assert found.same_as is None
    assert pictures.bytes_of(found) == f"mark of {cups.code}".encode()


def test_an_approval_from_before_tells_nothing_as_changed(old: Any) -> None:
    a_set = keeping.new_commission(SET, "A set", why="Begun", who="", when=now())
    digest = kept_before(old, a_set, "mark", {"form": "Bowl"})
    assert a_set.paper.current is not None
    plan = plans.plan_of_version(a_set.paper.current, plans.basis())
    stood = [["photograph of piece 1", "f" * 64], ["picture of the mark", digest]]
    approval = old.get_model("prototypes", "Approval").objects.create(
        commission_id=a_set.pk, version_id=a_set.paper.current.pk, day=date(2026, 11, 20), why="Yes", pictures=stood,
        facts=[[fact.key, fact.name, fact.words] for fact in approving.facts_of(plan)],
    )  # fmt: skip
    change = old.get_model("firings", "Change").objects.create(
        of="Approval", record=approval.pk, before=None, after={"pictures": stood}, why="Yes", written=now()
    )
    migrated(AFTER)
    stands = Approval.objects.get()
    assert [name for name, _ in stands.pictures] == ["photograph of piece 1", "mark of Bowl"]
    assert [each.name for each in approving.changed_since(stands, plan)] == ["photograph of piece 1"]
    change.refresh_from_db()
    assert change.after["pictures"][1] == ["mark of Bowl", digest]
    migrated(BEFORE)  # and back, while there is one for each commission
    change.refresh_from_db()
    assert change.after["pictures"] == stood


def test_going_back_is_refused_where_it_would_lose_a_mark(old: Any) -> None:
    a_set = keeping.new_commission(SET, "A set", why="Begun", who="", when=now())
    kept_before(old, a_set, "mark", {"form": "Bowl"})
    migrated(AFTER)
    first = pictures.standing(a_set, "mark", "Bowl")
    pictures.keep(a_set, "mark", "Cup", None, {}, Signed("Ada", now()), same_as=first)
    with pytest.raises(RuntimeError, match="for several forms"):
        migrated(BEFORE)
    assert len(pictures.all_of(a_set)) == 2
