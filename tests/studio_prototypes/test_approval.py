"""A prototype approved, what changes after it, and how that is told on page and sheet."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from django.test import Client

from tests.sheets.reading_pdf import squeezed, text_of
from tests.studio_after.conftest import picture
from wareboard.book import keeping
from wareboard.book.firings import signing
from wareboard.book.firings.signing import Signed
from wareboard.book.learning.models import FiguresKept
from wareboard.book.models import Commission
from wareboard.book.pieces import entering
from wareboard.book.pieces.models import Piece
from wareboard.book.prototypes import pictures as client_pictures
from wareboard.book.prototypes.approved_pictures import changed_pictures, pictures_of
from wareboard.book.prototypes.approving import changed_since
from wareboard.book.prototypes.models import Approval
from wareboard.commands.plan import say_since
from wareboard.plan.approved import Difference, differences, facts_of
from wareboard.quantities import show_length, show_mass
from wareboard.sheets.dossier import files_of
from wareboard.sheets.since_approval import Since
from wareboard.studio import plans
from wareboard.studio.briefs_folder import why_taken_in
from wareboard.studio.records_of_folder import approval_in
from wareboard.studio.settings_table import RECORDS
from wareboard.studio.today import now

pytestmark = pytest.mark.django_db
HERE = "/commissions/26-01/approval/"


def words(studio: Client, address: str = HERE) -> str:
    answer = studio.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def do(studio: Client, what: str, **more: str) -> None:
    assert studio.post(HERE, {"do": what, **more}).status_code == 302


def rewrite(cups: Commission, old: str, new: str) -> None:
    cups.paper.refresh_from_db()
    assert cups.paper.current is not None
    text = cups.paper.current.text
    assert old in text
    keeping.write(cups.paper, text.replace(old, new), seen=None, why="Changed", who="Ada", when=now())


def test_nothing_is_approved_at_first(studio: Client, cups: Commission) -> None:
    assert "Not approved yet" in words(studio)
    assert "approved" not in words(studio, "/commissions/26-01/").lower().replace("approval", "")


def test_approval_freezes_the_prototype_and_keeps_the_learned_figures(studio: Client, cups: Commission) -> None:
    do(studio, "approve", why="Yes, by letter")
    page = words(studio)
    assert "Yes, by letter" in page
    assert "Nothing has changed since" in page
    assert FiguresKept.objects.get(commission=cups, put_away=None).why == "Kept as approved"
    assert {"forms.cup.height", "forms.cup.ball", "glazes.white.recipe", "clay", "mark"} <= {
        row[0] for row in Approval.objects.get().facts
    }


def test_what_changes_after_approval_is_told_with_both_values(studio: Client, cups: Commission) -> None:
    do(studio, "approve")
    rewrite(cups, 'rim = "84 mm"', 'rim = "88 mm"')
    rewrite(cups, '"whiting" = 20', '"whiting" = 21')
    for address in (HERE, "/commissions/26-01/"):
        page = words(studio, address)
        assert "84 mm" in page
        assert "88 mm" in page
        assert "White, recipe" in page
    assert "Cup, height fired" not in words(studio, "/commissions/26-01/")


def test_a_photograph_of_the_prototype_that_comes_later_is_told(studio: Client, cups: Commission) -> None:
    by = Signed("Ada", now())
    do(studio, "approve")
    prototype = Piece.objects.create(commission=cups, number=1, key="p" * 8, kind="prototype", form="Cup")
    entering.add_photo(prototype, picture(), "cup.jpg", "", by)
    assert "Photograph of piece 1" in words(studio, "/commissions/26-01/")


def test_approval_can_be_taken_back_and_put_back(studio: Client, cups: Commission) -> None:
    do(studio, "approve")
    do(studio, "take-back")
    assert "Not approved yet" in words(studio)
    assert not FiguresKept.objects.filter(put_away=None).exists()
    do(studio, "again")
    assert "Approved on 25 November 2026" in words(studio)
    assert FiguresKept.objects.filter(put_away=None).exists()


def test_sending_keeps_the_learned_figures_without_approving(studio: Client, cups: Commission) -> None:
    do(studio, "sent")
    assert FiguresKept.objects.get(commission=cups).why == "Kept as sent to the client"
    assert "Not approved yet" in words(studio)


def test_figures_kept_when_it_was_sent_outlive_an_approval_taken_back(studio: Client, cups: Commission) -> None:
    for what in ("sent", "approve", "take-back"):
        do(studio, what)
    assert FiguresKept.objects.get(commission=cups, put_away=None).why == "Kept as sent to the client"


def test_a_brief_changed_meanwhile_is_not_approved_unseen(studio: Client, cups: Commission) -> None:
    assert cups.paper.current is not None
    seen = str(cups.paper.current.pk)
    rewrite(cups, 'rim = "84 mm"', 'rim = "88 mm"')
    do(studio, "approve", seen=seen)
    assert not Approval.objects.exists()
    assert "changed meanwhile" in words(studio)


def test_an_unknown_button_is_refused(studio: Client, cups: Commission) -> None:
    assert studio.post(HERE, {"do": "sell"}).status_code == 404


def test_facts_that_come_or_go_are_differences() -> None:
    from wareboard.plan.approved import Fact

    then, now_ = (
        (Fact("a", "rim", "84 mm"), Fact("b", "lid", "60 mm")),
        (Fact("a", "rim", "84 mm"), Fact("c", "foot", "50")),
    )
    assert differences(then, now_) == (
        Difference("lid", "60 mm", "not there"),
        Difference("foot", "not there", "50"),
    )


def test_every_sheet_of_the_dossier_tells_what_changed(cups: Commission, tmp_path: Path) -> None:
    assert cups.paper.current is not None
    plan = plans.plan_of_version(cups.paper.current, plans.basis())
    since = Since(date(2026, 11, 20), (Difference("Cup, rim fired", "84 mm", "88 mm"),))
    told = 0
    for name, make in files_of(plan, since=since):
        if name.endswith(".pdf"):
            text = _text(make(), tmp_path)
            assert squeezed("Changed since approval on 20 Nov 2026: 1 thing is listed") in text, name
            assert squeezed("Cup, rim fired") in text, name
            told += 1
    assert told >= 8
    quiet = dict(files_of(plan, since=replace(since, changed=())))
    assert squeezed("As approved on 20 Nov 2026") in _text(quiet["quote.pdf"](), tmp_path)
    assert "approvedon" not in _text(dict(files_of(plan))["quote.pdf"](), tmp_path).lower()


def test_sheets_that_are_printed_by_themselves_tell_it_too(studio: Client, cups: Commission, tmp_path: Path) -> None:
    do(studio, "approve")
    rewrite(cups, 'rim = "84 mm"', 'rim = "88 mm"')
    stem = "/commissions/26-01/forms/cup/patterns/"
    for address in (f"{stem}print.pdf", f"{stem}gauge.pdf", "/kilns/load/26-01/bisque/1/map.pdf"):
        answer = studio.get(address)
        assert answer.status_code == 200, address
        text = _text(answer.content, tmp_path)
        assert squeezed("Changed since approval on") in text, address
        assert squeezed("Cup, rim fired") in text, address


def test_the_command_line_finds_the_approval_by_the_brief_or_by_its_file(
    studio: Client, cups: Commission, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    do(studio, "approve")
    assert cups.paper.current is not None
    file = tmp_path / "cups.toml"
    file.write_text(cups.paper.current.text, encoding="utf-8")
    plan = plans.plan_of_version(cups.paper.current, plans.basis())
    assert approval_in(tmp_path, file, plan) is None  # no records are kept there
    (tmp_path / RECORDS).touch()
    found = approval_in(tmp_path, file, plan)
    assert found is not None
    assert found.changed == ()
    rewrite(cups, 'rim = "84 mm"', 'rim = "88 mm"')
    cups.paper.refresh_from_db()
    wider = plans.plan_of_version(cups.paper.current, plans.basis())
    changed = approval_in(tmp_path, file, wider)
    assert changed is not None
    say_since(changed)
    assert "Cup, rim fired: 88 mm, approved 84 mm" in capsys.readouterr().out
    file.write_text("# another brief\n" + file.read_text(encoding="utf-8"), encoding="utf-8")
    assert approval_in(tmp_path, file, wider) is None  # neither this brief nor one taken in from that file
    cups.paper.versions.filter(number=1).update(why=why_taken_in(file))
    assert approval_in(tmp_path, file, wider) is not None


def _text(pdf: bytes, folder: Path) -> str:
    file = folder / "sheet.pdf"
    file.write_bytes(pdf)
    return squeezed(text_of(file))


def test_facts_stay_the_same_for_the_same_plan(cups: Commission) -> None:
    assert cups.paper.current is not None
    plan = plans.plan_of_version(cups.paper.current, plans.basis())
    assert facts_of(plan) == facts_of(plan)
    assert len({fact.key for fact in facts_of(plan)}) == len(facts_of(plan))


def _approved_as(cups: Commission, facts: list[list[str]]) -> tuple[Difference, ...]:
    """What has changed since an approval that kept these facts."""
    assert cups.paper.current is not None
    plan = plans.plan_of_version(cups.paper.current, plans.basis())
    stands = Approval(commission=cups, version=cups.paper.current, day=date(2026, 11, 20), why="Yes", facts=facts)
    return changed_since(stands, plan)


def _kept_in_words(cups: Commission) -> list[list[str]]:
    """The facts as approvals were kept first: three parts, no figure."""
    assert cups.paper.current is not None
    plan = plans.plan_of_version(cups.paper.current, plans.basis())
    return [[fact.key, fact.name, fact.words] for fact in facts_of(plan)]


def test_an_approval_kept_in_other_words_raises_no_false_change(cups: Commission) -> None:
    assert cups.paper.current is not None
    plan = plans.plan_of_version(cups.paper.current, plans.basis())
    facts = {key: [key, name, said] for key, name, said in _kept_in_words(cups)}
    facts["forms.cup.weight"][2] = show_mass(plan.forms[0].vessel.fired_g)
    facts["forms.cup.height-tolerance"][2] = "the usual"
    facts["forms.cup.height"][2] = show_length(plan.forms[0].lengths["height"].fired_mm, "in")
    assert _approved_as(cups, list(facts.values())) == ()
    facts["forms.cup.weight"][2] = "45 g"
    assert [each.name for each in _approved_as(cups, list(facts.values()))] == ["Cup, fired weight"]


def test_an_approval_from_before_weights_were_kept_does_not_list_them_as_new(cups: Commission) -> None:
    without = [row for row in _kept_in_words(cups) if row[0] not in ("forms.cup.weight", "forms.cup.holds")]
    assert _approved_as(cups, without) == ()
    gone = [row for row in without if row[0] != "forms.cup.height"]
    assert [each.name for each in _approved_as(cups, gone)] == ["Cup, height fired"]


def test_sizes_shown_in_inches_after_the_approval_are_no_change(studio: Client, cups: Commission) -> None:
    do(studio, "approve")
    assert all(len(row) == 4 for row in Approval.objects.get().facts)
    rewrite(cups, "due =", 'show_lengths = "in"\ndue =')
    assert "Nothing has changed since" in words(studio)
    rewrite(cups, 'rim = "84 mm"', 'rim = "88 mm"')
    assert "Cup, rim fired" in words(studio)


def test_a_picture_replaced_is_told_by_its_form_and_by_both_days(cups: Commission) -> None:
    def kept(day: int, colour: str) -> None:
        data = picture(colour)
        client_pictures.keep(
            cups, "painting", "Cup", (data, "p.jpg"), {}, Signed("Ada", datetime(2026, 11, day, 9, tzinfo=UTC))
        )

    kept(20, "tan")
    assert cups.paper.current is not None
    plan = plans.plan_of_version(cups.paper.current, plans.basis())
    stands = Approval(
        commission=cups,
        facts=[fact.kept() for fact in facts_of(plan)],
        pictures=pictures_of(cups),
        day=date(2026, 11, 20),
    )
    assert changed_since(stands, plan) == ()
    kept(24, "navy")
    assert changed_since(stands, plan) == (
        Difference("painting of Cup", "the one of 20 Nov 2026", "the one of 24 Nov 2026"),
    )


def test_a_photograph_that_goes_is_told_with_the_form_of_its_piece(cups: Commission) -> None:
    by = Signed("Ada", datetime(2026, 11, 20, 9, tzinfo=UTC))
    prototype = Piece.objects.create(commission=cups, number=1, key="p" * 8, kind="prototype", form="Cup")
    entering.add_photo(prototype, picture(), "cup.jpg", "", by)
    stands = Approval(commission=cups, pictures=[*pictures_of(cups), ["mark of Jug", "0" * 64]], day=date(2026, 11, 20))
    signing.put_away(prototype, "Put away", by)
    assert changed_pictures(stands) == [
        Difference("mark of Jug", "the one of a day not known", "not there"),
        Difference("photograph of piece 1 (Cup)", "the one of 20 Nov 2026", "not there"),
    ]
