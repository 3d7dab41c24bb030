"""A mark and a painting for each form of a commission: pages, one drawing for two forms, undo, sheets, copies, renaming."""

from __future__ import annotations

import json
import re

import pytest
from django.test import Client

from tests.studio.conftest import CUPS
from tests.studio_prototypes.test_approval import rewrite
from tests.studio_prototypes.test_art_pages import (
    HERON,
    MARK,
    MARK_BOXES,
    PAINT_BOXES,
    PAINTING,
    artwork,
    file,
    three_tiles,
    words,
)
from wareboard.book import keeping
from wareboard.book.firings.signing import Signed
from wareboard.book.models import Commission
from wareboard.book.prototypes import approving, pictures
from wareboard.book.prototypes.models import ClientPicture
from wareboard.errors import OutOfRange
from wareboard.studio import plans
from wareboard.studio.prototypes.art_pages import found_of
from wareboard.studio.today import now

pytestmark = pytest.mark.django_db
SET = CUPS.replace(
    "[clay]",
    """[[forms]]
name = "Bowl"
count = 6
height = "60 mm"
rim = "150 mm"

[[forms]]
name = "Oil jug"
count = 4
height = "120 mm"
rim = "70 mm"

[clay]""",
)
SECOND = HERON.replace(b"L18 58", b"L16 58")
BY = Signed("Ada", now())


@pytest.fixture
def matched_set(db: None) -> Commission:
    """An invented commission of cups, bowls and jugs."""
    return keeping.new_commission(SET, "A set", why="Begun", who="", when=now())


def give(studio: Client, kind: str, form: str, **boxes: object) -> None:
    usual = MARK_BOXES if kind == MARK else PAINT_BOXES
    answer = studio.post(kind, {**usual, "form": form, **boxes})
    assert answer.status_code == 302, answer.content.decode()
    assert answer["Location"] == f"{kind}?form={form}"


def held(commission: Commission, form: str, kind: str = "mark") -> ClientPicture:
    found = pictures.standing(commission, kind, form)
    assert found is not None
    return found


def test_each_form_has_a_mark_of_its_own_at_its_own_size(studio: Client, matched_set: Commission) -> None:
    give(studio, MARK, "cup", picture=file(HERON, "heron.svg"))
    give(studio, MARK, "bowl", height="12 mm", picture=file(SECOND, "second.svg"))
    assert matched_set.paper.current is not None
    plan = plans.plan_of_version(matched_set.paper.current, plans.basis())
    for form, height in (("Cup", 20.0), ("Bowl", 12.0)):
        made = found_of(plan, held(matched_set, form)).made
        assert made.form == form
        assert made.size.fired_height_mm == pytest.approx(height, abs=0.01)
    assert held(matched_set, "Cup").file.name == "heron.svg"
    assert held(matched_set, "Bowl").file.name == "second.svg"


def test_one_row_of_links_leads_from_form_to_form_and_each_says_which_it_is(
    studio: Client, matched_set: Commission
) -> None:
    give(studio, MARK, "bowl", picture=file(HERON, "heron.svg"))
    page = words(studio, f"{MARK}?form=oil-jug")
    row = page.partition('aria-label="Forms, each with its mark"')[2].partition("</nav>")[0]
    links = re.findall(r'<a href="([^"]+)"( aria-current="page")?>([^<]+)</a>', row)
    assert [(link, bool(here), name) for link, here, name in links] == [
        (f"{MARK}?form=cup", False, "Cup, none yet"),
        (f"{MARK}?form=bowl", False, "Bowl"),
        (f"{MARK}?form=oil-jug", True, "Oil jug, none yet"),
    ]
    assert "<h2>Mark on Oil jug</h2>" in page
    assert "Oil jug has no mark yet." in page
    assert "Mark on Bowl" in words(studio, MARK)  # without a form: the first that has one
    assert "Painting on Cup" in words(studio, PAINTING)  # none has: the first
    assert studio.get(f"{MARK}?form=teapot").status_code == 404
    assert studio.get(f"{MARK}sheet.pdf?form=cup").status_code == 404
    assert studio.get(f"{MARK}sheet.pdf?form=bowl").status_code == 200


def test_a_commission_of_one_form_shows_no_row_of_links(studio: Client, cups: Commission) -> None:
    assert "Forms, each with its mark" not in words(studio, MARK)


def test_a_mark_that_is_the_same_as_another_follows_it_with_a_size_of_its_own(
    studio: Client, matched_set: Commission
) -> None:
    give(studio, MARK, "cup", picture=file(HERON, "heron.svg"))
    give(studio, MARK, "bowl", same_as="Cup", height="12 mm")
    assert pictures.bytes_of(held(matched_set, "Bowl")) == HERON
    give(studio, MARK, "cup", picture=file(SECOND, "second.svg"))
    assert pictures.bytes_of(held(matched_set, "Bowl")) == SECOND
    assert held(matched_set, "Bowl").given["height"] == "12 mm"
    page = words(studio, f"{MARK}?form=bowl")
    assert "The same as that of Cup" in page
    assert '<option value="Cup" selected>' in page
    assert "Bowl has the same" in words(studio, f"{MARK}?form=cup")
    give(studio, MARK, "bowl", same_as="", height="12 mm")  # let go of, what it had stays
    give(studio, MARK, "cup", picture=file(HERON, "heron.svg"))
    assert pictures.bytes_of(held(matched_set, "Bowl")) == SECOND


def test_a_file_that_is_sent_goes_before_the_same_as(studio: Client, matched_set: Commission) -> None:
    give(studio, MARK, "cup", picture=file(HERON, "heron.svg"))
    give(studio, MARK, "bowl", same_as="Cup")
    give(studio, MARK, "bowl", same_as="Cup", picture=file(SECOND, "second.svg"))
    assert held(matched_set, "Bowl").same_as is None
    assert pictures.bytes_of(held(matched_set, "Bowl")) == SECOND


def test_two_forms_are_not_each_the_same_as_the_other(studio: Client, matched_set: Commission) -> None:
    give(studio, MARK, "cup", picture=file(HERON, "heron.svg"))
    give(studio, MARK, "bowl", same_as="Cup")
    answer = studio.post(MARK, {**MARK_BOXES, "form": "cup", "same_as": "Bowl"})
    assert answer.status_code == 422
    assert "that one is the same as this one already" in answer.content.decode()
    with pytest.raises(OutOfRange, match="same"):
        pictures.keep(matched_set, "mark", "Cup", None, {}, BY, same_as=held(matched_set, "Cup"))


def test_a_drawing_put_away_on_one_form_stays_on_those_that_are_the_same(
    studio: Client, matched_set: Commission
) -> None:
    give(studio, MARK, "cup", picture=file(HERON, "heron.svg"))
    give(studio, MARK, "bowl", same_as="Cup")
    studio.post(MARK, {"form": "cup", "do": "put-away"})
    assert pictures.standing(matched_set, "mark", "Cup") is None
    assert pictures.bytes_of(held(matched_set, "Bowl")) == HERON
    assert '<option value="Cup" selected>' in words(studio, f"{MARK}?form=bowl")
    page = words(studio, f"{MARK}?form=cup")
    assert "Cup has no mark yet" in page
    assert "Fetch it back" in page
    studio.post(MARK, {"form": "cup", "do": "fetch-back"})
    assert pictures.bytes_of(held(matched_set, "Cup")) == HERON


def test_undo_takes_back_the_latest_change_of_that_form_alone(studio: Client, matched_set: Commission) -> None:
    give(studio, MARK, "cup", picture=file(HERON, "heron.svg"))
    give(studio, MARK, "bowl", picture=file(SECOND, "second.svg"))
    give(studio, MARK, "bowl", same_as="Cup", height="9 mm")
    studio.post(MARK, {"form": "bowl", "do": "undo"})
    assert held(matched_set, "Bowl").same_as is None
    assert pictures.bytes_of(held(matched_set, "Bowl")) == SECOND
    studio.post(MARK, {"form": "bowl", "do": "redo"})
    assert pictures.bytes_of(held(matched_set, "Bowl")) == HERON
    assert held(matched_set, "Cup").file.name == "heron.svg"
    for _ in range(2):
        studio.post(MARK, {"form": "bowl", "do": "undo"})
    assert pictures.standing(matched_set, "mark", "Bowl") is None
    assert "Make that change again" in words(studio, f"{MARK}?form=bowl")


def test_the_dossier_holds_a_sheet_for_each_form_and_follows_a_drawing_replaced(
    studio: Client, matched_set: Commission
) -> None:
    three_tiles()
    give(studio, MARK, "cup", picture=file(HERON, "heron.svg"))
    give(studio, MARK, "oil-jug", same_as="Cup", height="15 mm")
    give(studio, PAINTING, "bowl", picture=file(artwork(), "reeds.png"))
    give(studio, PAINTING, "oil-jug", same_as="Bowl")
    page = words(studio, "/commissions/26-01/sheets/")
    for name in ("mark-cup.pdf", "mark-oil-jug.pdf", "painters-card-bowl.pdf", "painters-card-oil-jug.pdf"):
        assert name in page
    for name in ("mark-bowl.pdf", "painters-card-cup.pdf"):
        assert name not in page
    before = studio.get("/commissions/26-01/sheets/mark-oil-jug.pdf").getvalue()
    give(studio, MARK, "cup", picture=file(SECOND, "second.svg"))
    assert studio.get("/commissions/26-01/sheets/mark-oil-jug.pdf").getvalue() != before


def test_every_form_is_shown_with_what_is_on_it(studio: Client, matched_set: Commission) -> None:
    three_tiles()
    give(studio, MARK, "cup", picture=file(HERON, "heron.svg"))
    give(studio, PAINTING, "bowl", picture=file(artwork(), "reeds.png"))
    give(studio, PAINTING, "cup", same_as="Bowl")
    listed = words(studio, "/commissions/26-01/forms/")
    for there in ("cup/round/?on=mark", "cup/round/?on=fired", "bowl/round/?on=fired"):
        assert there in listed
    assert "bowl/round/?on=mark" not in listed
    assert "Painted, fired" in words(studio, "/commissions/26-01/forms/cup/round/")
    shown = words(studio, "/commissions/26-01/forms/cup/round/?on=mark")
    assert f"{MARK}?form=cup" in shown
    assert "No mark is kept for Bowl." in words(studio, "/commissions/26-01/forms/bowl/round/?on=mark")
    assert "Bowl has no mark yet" in words(studio, "/commissions/26-01/forms/bowl/round/")
    empty = words(studio, "/commissions/26-01/forms/oil-jug/round/")
    assert "Nothing is on Oil jug yet" in empty
    assert f"{PAINTING}?form=oil-jug" in empty


def test_what_has_changed_since_approval_is_told_for_each_form(studio: Client, matched_set: Commission) -> None:
    give(studio, MARK, "cup", picture=file(HERON, "heron.svg"))
    give(studio, MARK, "bowl", same_as="Cup")
    studio.post("/commissions/26-01/approval/", {"do": "approve"})
    assert matched_set.paper.current is not None
    plan = plans.plan_of_version(matched_set.paper.current, plans.basis())
    stands = approving.standing(matched_set)
    assert stands is not None
    assert approving.changed_since(stands, plan) == ()
    give(studio, MARK, "cup", picture=file(SECOND, "second.svg"))
    assert [each.name for each in approving.changed_since(stands, plan)] == ["mark of Bowl", "mark of Cup"]
    give(studio, MARK, "bowl", picture=file(HERON, "heron.svg"))
    assert [each.name for each in approving.changed_since(stands, plan)] == ["mark of Cup"]


def test_a_copy_of_a_commission_has_its_pictures_and_each_stands_alone(studio: Client, matched_set: Commission) -> None:
    give(studio, MARK, "cup", picture=file(HERON, "heron.svg"))
    give(studio, MARK, "bowl", same_as="Cup", height="12 mm")
    give(studio, PAINTING, "oil-jug", picture=file(artwork(), "reeds.png"))
    studio.post("/commissions/26-01/history/copy/")
    new = Commission.objects.get(code="26-02")
    assert held(new, "Bowl").same_as == held(new, "Cup")
    assert held(new, "Bowl").given["height"] == "12 mm"
    assert held(new, "Oil jug", "painting").file.name == "reeds.png"
    give(studio, MARK, "cup", picture=file(SECOND, "second.svg"))
    assert pictures.bytes_of(held(new, "Bowl")) == HERON


def test_a_form_renamed_in_the_brief_keeps_its_mark_until_it_is_given_to_another(
    studio: Client, matched_set: Commission
) -> None:
    give(studio, MARK, "cup", picture=file(HERON, "heron.svg"))
    give(studio, MARK, "bowl", same_as="Cup")
    rewrite(matched_set, 'name = "Cup"', 'name = "Beaker"')
    page = words(studio, f"{MARK}?form=cup")
    assert "Cup, no longer in the brief" in page
    assert "The brief has no Cup any more" in page
    assert "<option>Beaker</option>" in page
    assert "<option>Bowl</option>" not in page  # it has one
    assert studio.post(MARK, {"form": "cup", "do": "for", "for": "Bowl"})["Location"] == f"{MARK}?form=cup"
    assert studio.post(MARK, {"form": "cup", "do": "for", "for": "Beaker"})["Location"] == f"{MARK}?form=beaker"
    assert pictures.bytes_of(held(matched_set, "Beaker")) == HERON
    assert held(matched_set, "Bowl").same_as == held(matched_set, "Beaker")
    assert "Cup" not in words(studio, f"{MARK}?form=beaker").partition("Forms, each")[2].partition("</nav>")[0]
    assert studio.post(MARK, {"form": "bowl", "do": "for", "for": "Teapot"}).status_code == 404


def test_a_name_written_another_way_is_the_same_form(studio: Client, matched_set: Commission) -> None:
    give(studio, MARK, "cup", picture=file(HERON, "heron.svg"))
    rewrite(matched_set, 'name = "Cup"', 'name = "cup"')
    assert "no longer in the brief" not in words(studio, MARK)
    assert "Where it goes" in words(studio, f"{MARK}worked/?form=cup")


def test_every_change_of_a_picture_is_in_its_history_as_plain_words(studio: Client, matched_set: Commission) -> None:
    from wareboard.book.firings import signing

    give(studio, MARK, "cup", picture=file(HERON, "heron.svg"))
    give(studio, MARK, "bowl", same_as="Cup")
    give(studio, MARK, "bowl", same_as="Cup", height="11 mm")
    told = [each.why for each in signing.history(held(matched_set, "Bowl"))]
    assert told == ["Boxes of the mark changed", "The mark is the same as that of Cup"]
    assert json.dumps(signing.state(held(matched_set, "Bowl")))
