"""Pages without a browser: what is typed stays, what is accepted is kept, what is undone comes back."""

from __future__ import annotations

import json
import re
from html import unescape
from pathlib import Path

import pytest
from django.db import OperationalError
from django.test import Client

from tests.studio.conftest import CUPS, DAY
from wareboard.book import keeping
from wareboard.book.models import Commission, Headline, Version
from wareboard.studio import plans, sections, workshop_file
from wareboard.studio.today import now

FOUR = {"height": "95 mm", "rim": "", "shrinkage": "12", "count": "24", "due": "2027-02-12", "name": "cup"}
EDIT = "/commissions/26-01/edit/"


def words_of(body: bytes) -> str:
    """A page's words, without its tags."""
    text = re.sub(r"<(script|style|svg)\b.*?</\1>", " ", body.decode(), flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).split())


def boxes(page: bytes) -> dict[str, str]:
    """Every box of a page's forms with what stands in it, as a browser would send them."""
    text = page.decode()
    found = {}
    for tag in re.findall(r"<input\b[^>]*>", text):
        name, value = re.search(r'name="([^"]+)"', tag), re.search(r'value="([^"]*)"', tag)
        if name and name[1] != "csrfmiddlewaretoken":
            found[name[1]] = unescape(value[1]) if value else ""
    for name, body in re.findall(r'<textarea\b[^>]*name="([^"]+)"[^>]*>\n?(.*?)</textarea>', text, re.DOTALL):
        found[name] = unescape(body)
    for name, body in re.findall(r'<select\b[^>]*name="([^"]+)"[^>]*>(.*?)</select>', text, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', body)
        found[name] = unescape(chosen[1]) if chosen else ""
    return found


def test_the_first_page_of_an_empty_workshop_leads_to_four_numbers(client: Client, db: None) -> None:
    page = client.get("/")
    assert "Nothing on the boards yet" in words_of(page.content)
    assert b'href="/start/"' in page.content


def test_four_numbers_give_what_the_plan_gives(client: Client, db: None) -> None:
    """The page against the plan, and the wet height against the definition: 95 / (1 - 0.12) = 107.95 mm."""
    page = words_of(client.post("/start/", {**FOUR, "do": "show"}).content)
    assert "108 mm" in page
    plan = plans.plan_of(
        'due = 2027-02-12\n[[forms]]\nname = "cup"\ncount = 24\nheight = "95 mm"\n[clay]\nshrinkage = "12 %"\n',
        plans.basis(),
    )
    assert f"{plan.forms[0].start} for 24" in page
    assert plan.price.currency in page
    assert Commission.objects.count() == 0


def test_four_numbers_are_kept_as_they_were_typed(client: Client, db: None) -> None:
    done = client.post("/start/", {**FOUR, "height": "3 3/4 in", "do": "save"})
    assert done.status_code == 302
    commission = Commission.objects.get()
    assert done["Location"] == f"/commissions/{commission.code}/"
    assert commission.paper.current is not None
    assert 'height = "3 3/4 in"' in commission.paper.current.text
    assert "4 1/4 in" in words_of(client.get(f"/commissions/{commission.code}/").content)


@pytest.mark.parametrize(
    ("box", "typed", "words"),
    [
        ("height", "ninety", "ninety"),
        ("shrinkage", "40", "between 1 % and 25 %"),
        ("count", "some", "Write a whole number"),
        ("due", "2020-01-01", "it is past"),
        ("count", "", "A plan needs how many"),
        ("shrinkage", "", "A plan needs the clay’s shrinkage"),
        ("due", "", "A plan needs a day"),
        ("height", "", "A plan needs a fired size"),
    ],
)
def test_a_wrong_number_is_told_beside_its_box_and_what_was_typed_stays(
    client: Client, db: None, box: str, typed: str, words: str
) -> None:
    page = client.post("/start/", {**FOUR, box: typed, "do": "save"})
    assert page.status_code == 422
    assert Commission.objects.count() == 0
    shown = boxes(page.content)
    assert {key: shown[key] for key in FOUR} == {**FOUR, box: typed}
    assert words in words_of(page.content)
    assert f'href="#four-{box}"' in page.content.decode()
    assert re.search(rf'id="four-{box}"[^>]*aria-invalid="true"', page.content.decode())


def test_a_file_is_taken_in_and_taken_out_again_to_the_byte(client: Client, db: None, demo_text: str) -> None:
    done = client.post("/start/from-a-file/", {"text": demo_text})
    assert done.status_code == 302
    out = client.get(f"{done['Location']}brief.toml")
    assert out.content.decode() == demo_text
    assert "attachment" in out["Content-Disposition"]


def test_an_odd_file_is_refused_by_line_and_its_text_stays(client: Client, db: None) -> None:
    odd = CUPS.replace("count = 24", "count = none")
    page = client.post("/start/from-a-file/", {"text": odd})
    assert page.status_code == 422
    assert boxes(page.content)["text"].rstrip() == odd.rstrip()
    assert "line 8" in words_of(page.content)
    assert client.post("/start/from-a-file/", {"text": ""}).status_code == 422


def test_a_file_that_is_no_text_is_refused(client: Client, db: None) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    page = client.post("/start/from-a-file/", {"file": SimpleUploadedFile("x.toml", b"\xff\xfe\x00")})
    assert page.status_code == 422
    assert "not plain text" in words_of(page.content)


@pytest.mark.parametrize("page", [key for key, _ in sections.NAMES])
def test_every_part_of_a_plan_has_its_page(client: Client, cups: Commission, page: str) -> None:
    place = {"answers": "", "mark": "art/mark/", "painting": "art/painting/"}.get(page, f"{page}/")
    address = f"/commissions/26-01/{place}"
    body = client.get(address)
    assert body.status_code == 200
    assert "not worked out" not in words_of(body.content)


@pytest.mark.parametrize("page", ["", "forms/", "clay/", "glazes/", "loads/", "firings/", "calendar/", "price/"])
def test_the_demos_figures_all_find_their_working(client: Client, db: None, demo_text: str, page: str) -> None:
    keeping.new_commission(demo_text, "Demo", why="", who="", when=now())
    body = client.get(f"/commissions/26-01/{page}")
    assert body.status_code == 200
    assert "not worked out" not in words_of(body.content)
    assert body.content.count(b'<details class="figure"') > 5


def test_a_figure_opens_to_its_formula_inputs_source_and_range(client: Client, cups: Commission) -> None:
    page = client.get("/commissions/26-01/forms/").content.decode()
    opened = next(
        part
        for part in re.findall(r'<div class="working">.*?</div>', page)
        if "Height wet" in part or "Height, wet" in part
    )
    words = words_of(opened.encode())
    assert "95.25 / (1 \N{MINUS SIGN} 0.12)" in words
    assert "On whose word" in words


def test_an_accepted_change_is_a_new_version_and_nothing_else_of_the_text_moves(
    client: Client, cups: Commission
) -> None:
    typed = boxes(client.get(EDIT).content)
    done = client.post(EDIT, {**typed, "forms.0.height": "4 in", "do": "accept", "why": "taller", "who": "Ada"})
    assert done.status_code == 302
    version = Version.objects.order_by("-number")[0]
    assert (version.number, version.why, version.who) == (2, "taller", "Ada")
    assert version.text == CUPS.replace("3 3/4 in", "4 in")


def test_accepting_with_nothing_changed_makes_no_version(client: Client, cups: Commission) -> None:
    client.post(EDIT, {**boxes(client.get(EDIT).content), "do": "accept"})
    assert Version.objects.count() == 1


def test_the_ripple_shows_before_after_and_difference_and_keeps_nothing(client: Client, cups: Commission) -> None:
    """101.6 / 0.88 - 95.25 / 0.88 = 7.2 mm: 4 in against 3 3/4 in at 12 %."""
    typed = boxes(client.get(EDIT).content)
    page = client.post(EDIT, {**typed, "forms.0.height": "4 in", "do": "show"})
    words = words_of(page.content)
    assert re.search(r"height, wet 108 mm 115 mm \+7\.2 mm", words)
    assert "ball" in words
    assert boxes(page.content)["forms.0.height"] == "4 in"
    assert Version.objects.count() == 1


def test_with_htmx_the_ripple_comes_alone(client: Client, cups: Commission) -> None:
    typed = boxes(client.get(EDIT).content)
    part = client.post(EDIT, {**typed, "forms.0.count": "48"}, headers={"HX-Request": "true"})
    assert part.content.lstrip().startswith(b'<section id="ripple"')
    assert "to start" in words_of(part.content)


def test_a_live_look_that_carries_the_button_pressed_since_does_not_do_what_the_button_does(
    client: Client, cups: Commission
) -> None:
    """A browser's script sends the last button along: both would be kept, and one of them refused as changed meanwhile."""
    live = {"HX-Request": "true"}
    typed = {**boxes(client.get(EDIT).content), "forms.0.count": "48", "do": "accept"}
    assert "to start" in words_of(client.post(EDIT, typed, headers=live).content)
    client.post("/start/", {**FOUR, "do": "save"}, headers=live)
    assert (Version.objects.count(), Commission.objects.count()) == (1, 1)
    assert client.post(EDIT, typed).status_code == 302
    assert Version.objects.count() == 2


def test_wrong_boxes_are_told_beside_them_and_all_that_was_typed_stays(client: Client, cups: Commission) -> None:
    typed = boxes(client.get(EDIT).content)
    wrong = {
        "forms.0.height": "tall",
        "clay.shrinkage": "90 %",
        "glazes.0.recipe": "feldspar\nsilica 30",
        "notes": "Mind the foot",
    }
    page = client.post(EDIT, {**typed, **wrong, "do": "accept"})
    assert page.status_code == 422
    shown = boxes(page.content)
    assert {key: shown[key].strip() for key in wrong} == wrong
    page = client.post(EDIT, {**typed, "forms.0.height": "tall", "clay.shrinkage": "90 %", "do": "accept"})
    body = page.content.decode()
    assert 'href="#forms-0-height"' in body
    assert 'href="#clay-shrinkage"' in body
    assert Version.objects.count() == 1


def test_forms_can_be_added_by_the_boxes_without_losing_what_was_typed(client: Client, cups: Commission) -> None:
    typed = boxes(client.get(EDIT).content)
    page = client.post(EDIT, {**typed, "notes": "half typed", "do": "add:forms"})
    shown = boxes(page.content)
    assert shown["forms.1.name"] == "new form"
    assert shown["notes"].strip() == "half typed"
    done = client.post(
        EDIT, {**shown, "forms.1.name": "Saucer", "forms.1.count": "24", "forms.1.rim": "14 cm", "do": "accept"}
    )
    assert done.status_code == 302
    text = Version.objects.order_by("-number")[0].text
    assert 'name = "Saucer"' in text
    assert 'rim = "14 cm"' in text
    assert "half typed" in text


def test_a_stale_edit_shows_the_other_change_keeps_what_was_typed_and_can_then_be_accepted(
    client: Client, cups: Commission
) -> None:
    mine, theirs = boxes(client.get(EDIT).content), boxes(client.get(EDIT).content)
    client.post(EDIT, {**theirs, "forms.0.count": "30", "do": "accept"})
    page = client.post(EDIT, {**mine, "forms.0.height": "4 in", "do": "accept"})
    assert page.status_code == 409
    assert "changed in another window" in words_of(page.content)
    assert "now: count = 30" in words_of(page.content)
    shown = boxes(page.content)
    assert shown["forms.0.height"] == "4 in"
    assert client.post(EDIT, {**shown, "do": "accept"}).status_code == 302
    assert Version.objects.count() == 3


def test_the_plain_text_page_tells_lines_keeps_the_text_and_accepts(client: Client, cups: Commission) -> None:
    address = "/commissions/26-01/text/"
    typed = boxes(client.get(address).content)
    odd = typed["text"].replace("24", '"many"').replace('"84 mm"', '"84 furlongs"')
    page = client.post(address, {**typed, "text": odd, "do": "accept"})
    assert page.status_code == 422
    assert boxes(page.content)["text"].strip() == odd.strip()
    assert {"line 8", "line 10"} <= set(re.findall(r"line \d+", words_of(page.content)))
    assert client.post(address, {**typed, "text": CUPS.replace("24", "36"), "do": "accept"}).status_code == 302
    assert Version.objects.order_by("-number")[0].text == CUPS.replace("24", "36")


def test_undo_redo_and_bringing_back_by_the_pages(client: Client, cups: Commission) -> None:
    client.post(EDIT, {**boxes(client.get(EDIT).content), "title": "Taller cups", "do": "accept"})
    assert Commission.objects.get().name == "Taller cups"
    client.post("/commissions/26-01/history/undo/")
    assert Commission.objects.get().name == "Cups for a tea room"
    client.post("/commissions/26-01/history/redo/")
    assert Commission.objects.get().name == "Taller cups"
    client.post("/commissions/26-01/history/bring-back/", {"number": "1"})
    assert Commission.objects.get().name == "Cups for a tea room"
    words = words_of(client.get("/commissions/26-01/history/").content)
    assert "Brought back version 1" in words
    assert "Version 3" in words
    assert client.get("/commissions/26-01/history/undo/").status_code == 405


def test_a_copy_and_putting_away(client: Client, cups: Commission) -> None:
    assert client.post("/commissions/26-01/history/copy/")["Location"] == "/commissions/26-02/edit/"
    client.post("/commissions/26-01/history/put-away/")
    page = words_of(client.get("/").content)
    assert "26-02" in page
    assert "26-01" not in page
    assert "26-01" in words_of(client.get("/put-away/").content)
    client.post("/commissions/26-01/history/fetch-back/")
    assert "26-01" in words_of(client.get("/").content)


def test_the_list_works_nothing_out_and_shows_what_was_kept(
    client: Client, cups: Commission, monkeypatch: pytest.MonkeyPatch
) -> None:
    client.get("/glance/26-01/")
    assert Headline.objects.get().figures["pieces"] == 24

    def refuse(*args: object) -> None:
        raise AssertionError("the list must not work a plan out")

    monkeypatch.setattr(plans, "plan_of", refuse)
    page = client.get("/")
    assert "On time" in words_of(page.content)
    assert b"hx-get" not in page.content


def test_a_card_is_worked_out_anew_when_the_workshop_changes(
    client: Client, cups: Commission, workshop_folder: Path
) -> None:
    client.get("/glance/26-01/")
    (workshop_folder / "workshop.toml").write_text('prices = { currency = "GBP" }\n')
    assert b"hx-get" in client.get("/").content
    assert "GBP" in words_of(client.get("/glance/26-01/").content)


def test_the_workshops_boxes_write_its_file_with_versions(client: Client, db: None, workshop_folder: Path) -> None:
    file = workshop_folder / "workshop.toml"
    file.write_text("# ours\nname = 'The shed'\n")
    typed = boxes(client.get("/workshop/").content)
    shown = boxes(client.post("/workshop/", {**typed, "do": "add:kilns"}).content)
    done = client.post(
        "/workshop/", {**shown, "kilns.0.name": "Round", "kilns.0.shelf_diameter": "21 in", "do": "accept"}
    )
    assert done.status_code == 302
    assert "# ours" in file.read_text()
    assert 'shelf_diameter = "21 in"' in file.read_text()
    client.post("/workshop/history/undo/")
    assert file.read_text() == "# ours\nname = 'The shed'\n"
    client.post("/workshop/history/redo/")
    assert "21 in" in file.read_text()
    wrong = boxes(client.get("/workshop/").content)
    page = client.post("/workshop/", {**wrong, "kilns.0.shelf_diameter": "wide", "do": "accept"})
    assert page.status_code == 422
    assert boxes(page.content)["kilns.0.shelf_diameter"] == "wide"
    assert "21 in" in file.read_text()


def test_the_workshops_own_losses_and_times_reach_the_plan(
    client: Client, cups: Commission, workshop_folder: Path
) -> None:
    typed = boxes(client.get("/workshop/").content)
    own = {"own.good": "cup.dried 90 %\nbisque 98 %", "own.minutes": "throw 7 min\ncup.trim 3 min"}
    assert client.post("/workshop/", {**typed, **own, "do": "accept"}).status_code == 302
    assert cups.paper.current is not None
    form = plans.plan_of(cups.paper.current.text, plans.basis()).forms[0]
    assert (form.minutes["throw"].value, form.minutes["trim"].value) == (7, 3)
    assert "the workshop" in form.minutes["throw"].source
    page = client.post(
        "/workshop/", {**boxes(client.get("/workshop/").content), "own.minutes": "thorw 7 min", "do": "accept"}
    )
    assert page.status_code == 422
    assert "nothing here has this name" in words_of(page.content)
    assert boxes(page.content)["own.minutes"].strip() == "thorw 7 min"


def test_stages_and_tasks_are_those_that_the_plan_asks_for(db: None, demo_text: str) -> None:
    """Against the plan's own words: its stages, and the tasks that its forms have minutes for."""
    from wareboard import reference
    from wareboard.plan.forming import STAGES
    from wareboard.plan.reading import read_brief
    from wareboard.studio import brief_fields

    assert brief_fields.STAGES == STAGES
    forms = plans.plan_of(
        demo_text + '\n[[forms]]\nname = "jar"\ncount = 2\nheight = "12 cm"\n[forms.lid]\n', plans.basis()
    ).forms
    asked = {task for form in forms for task in form.minutes}
    defaults = {each.key.split(".")[1] for each in reference.defaults() if each.key.startswith("minutes.")}
    assert read_brief(demo_text)
    assert asked <= set(brief_fields.TASKS)
    assert set(brief_fields.TASKS) - asked <= defaults | {"paint"}


def test_a_change_made_to_the_workshops_file_by_hand_becomes_a_version(db: None, workshop_folder: Path) -> None:
    workshop_file.paper(now())
    (workshop_folder / "workshop.toml").write_text("name = 'by hand'\n")
    paper = workshop_file.paper(now())
    assert paper.current is not None
    assert (paper.current.number, paper.current.why) == (2, "Changed outside the studio")


@pytest.mark.parametrize(
    "body", [b'name = "shed\n', b'kilns = "many"\n', b'name = "caf\xe9"\ncolour = 3\n', b"\x00\xff"]
)
def test_a_broken_workshop_file_breaks_no_page_and_is_named_where_it_matters(
    client: Client, cups: Commission, workshop_folder: Path, body: bytes
) -> None:
    file = workshop_folder / "workshop.toml"
    file.write_bytes(body)
    assert client.get("/").status_code == 200
    for address in ("/commissions/26-01/", "/glance/26-01/"):
        assert "workshop.toml" in words_of(client.get(address).content)
    assert "workshop.toml" in words_of(client.post("/start/", {**FOUR, "do": "show"}).content)
    assert "workshop.toml" in words_of(client.post(EDIT, {**boxes(client.get(EDIT).content), "do": "show"}).content)
    page = client.get("/workshop/", follow=True)
    assert page.status_code == 200
    assert client.get("/workshop/text/").status_code == 200
    assert file.read_bytes() == body
    done = client.post("/workshop/text/", {"text": "name = 'mended'\n", "do": "accept"})
    assert done.status_code == 302
    assert "108" in words_of(client.get("/commissions/26-01/").content)


def test_a_brief_that_cannot_be_planned_says_so_and_can_still_be_changed(
    client: Client, db: None, workshop_folder: Path
) -> None:
    keeping.new_commission(CUPS.replace('"84 mm"', '"900 mm"'), "Wide", why="", who="", when=now())
    page = client.get("/commissions/26-01/")
    assert page.status_code == 200
    assert "cannot be planned yet" in words_of(page.content)
    assert client.get(EDIT).status_code == 200
    assert "Cannot be planned yet" in words_of(client.get("/glance/26-01/").content)


def test_a_better_calendar_is_looked_for_when_asked_and_kept_to(client: Client, cups: Commission) -> None:
    assert client.post("/commissions/26-01/calendar/").status_code == 302
    assert Headline.objects.get().looked_s > 0
    assert client.get("/commissions/26-01/calendar/").status_code == 200


def test_every_page_forbids_other_hosts_and_inline_code(client: Client, cups: Commission) -> None:
    for address in ("/", "/start/", "/workshop/", "/commissions/26-01/", EDIT, "/commissions/26-01/loads/"):
        page = client.get(address)
        policy = page["Content-Security-Policy"]
        assert "default-src 'self'" in policy
        assert "unsafe" not in policy
        body = page.content.decode()
        assert not re.search(r'<script(?![^>]*\bsrc="/static/)', body)
        assert not re.search(r'\sstyle="|<style|\son[a-z]+="', body)
        assert not re.search(r'(?:src|href|action)="(?:https?:)?//', body)


def test_forms_without_their_token_are_refused(cups: Commission) -> None:
    strict = Client(enforce_csrf_checks=True)
    page = strict.post("/commissions/26-01/history/put-away/")
    assert page.status_code == 403
    assert "too old to save from" in words_of(page.content)


def test_other_hosts_names_are_refused(client: Client, db: None) -> None:
    assert client.get("/", headers={"host": "studio.example"}).status_code == 400


def test_the_look_is_kept_and_leads_back_to_this_studio_only(client: Client, db: None) -> None:
    done = client.post("/look/", {"look": "dark", "back": "/start/"})
    assert done["Location"] == "/start/"
    assert b'data-look="dark"' in client.get("/").content
    assert client.post("/look/", {"look": "dark", "back": "https://elsewhere.example/"})["Location"] == "/"


@pytest.mark.parametrize(
    "address", ["/nothing/", "/commissions/99-99/", "/commissions/26-01/nothing/", "/commissions/26-01/history/99/"]
)
def test_what_is_not_there_is_a_page_too(client: Client, cups: Commission, address: str) -> None:
    page = client.get(address)
    assert page.status_code == 404
    assert "Nothing stands here" in words_of(page.content)


def test_the_calendar_goes_out_as_a_calendar_file(client: Client, cups: Commission) -> None:
    """Read back with the icalendar library."""
    from icalendar import Calendar

    sheet = Calendar.from_ical(client.get("/commissions/26-01/calendar.ics").content)
    assert any("Due" in str(event.get("summary")) for event in sheet.walk("VEVENT"))


def test_words_typed_into_a_brief_cannot_become_code(client: Client, db: None) -> None:
    nasty = '<script>alert(1)</script>"><img src=x onerror=alert(1)>'
    text = (
        CUPS.replace('"Cup"', json.dumps(nasty[:70]))
        .replace('"Cups for a tea room"', json.dumps(nasty))
        .replace("Invented", "<b>")
    )
    keeping.new_commission(text, nasty, why=nasty, who=nasty, when=now())
    for page in (
        "",
        "forms/",
        "loads/",
        "firings/",
        "calendar/",
        "price/",
        "assumed/",
        "notices/",
        "edit/",
        "text/",
        "history/",
    ):
        body = client.get(f"/commissions/26-01/{page}").content
        assert b"<script>alert" not in body
        assert b"<img src=x" not in body
    assert b"<img src=x" not in client.get("/").content


def test_the_day_is_the_settings_day() -> None:
    from wareboard.studio.today import today

    assert today() == DAY


def test_a_plan_is_worked_out_once_for_a_text_a_workshop_and_a_day(
    client: Client, cups: Commission, monkeypatch: pytest.MonkeyPatch
) -> None:
    import wareboard.plan

    asked: list[str] = []
    real = wareboard.plan.compile

    def counting(brief, workshop=None, **more):  # type: ignore[no-untyped-def]
        asked.append(brief.title)
        return real(brief, workshop, **more)

    monkeypatch.setattr(wareboard.plan, "compile", counting)
    plans.forget()
    for page in ("", "forms/", "price/", "calendar/"):
        client.get(f"/commissions/26-01/{page}")
    assert len(asked) == 1


def test_a_file_can_be_chosen_and_taken_in(client: Client, db: None) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    body = b"\xef\xbb\xbf" + CUPS.replace("\n", "\r\n").encode()  # as an editor on Windows may save it
    done = client.post("/start/from-a-file/", {"file": SimpleUploadedFile("cups.toml", body)})
    assert done.status_code == 302
    assert Version.objects.get().text == CUPS


@pytest.mark.django_db(transaction=True)
def test_the_records_of_the_studio_can_be_backed_up_and_put_back(cups: Commission, tmp_path: Path) -> None:
    """The records of this test stand elsewhere than in the workshop folder, so they are copied there first."""
    import sqlite3
    from contextlib import closing

    from django.db import connection

    from wareboard.book.backup import back_up, restore

    with closing(sqlite3.connect(tmp_path / "records.sqlite3")) as copy:
        assert connection.connection is not None
        connection.connection.backup(copy)
    file = back_up(tmp_path, tmp_path / "out" / "backup.zip")
    restore(tmp_path / "new", file)
    with closing(sqlite3.connect(tmp_path / "new" / "records.sqlite3")) as opened:
        assert opened.execute("SELECT text FROM book_version").fetchone() == (CUPS,)


def test_a_long_list_takes_few_looks_into_the_records(client: Client, db: None, django_assert_max_num_queries) -> None:  # type: ignore[no-untyped-def]
    for number in range(60):
        keeping.new_commission(CUPS, f"Cups {number}", why="", who="", when=now())
    client.get("/")  # what the records teach is worked out once
    with django_assert_max_num_queries(8):
        page = client.get("/")
    assert page.content.count(b"<article") == 60


def test_enter_in_a_box_of_the_four_numbers_shows_and_does_not_keep(client: Client, db: None) -> None:
    """A browser presses a form's first button when Enter is struck in one of its boxes."""
    form = client.get("/start/").content.decode().partition('<form method="post" action="/start/"')[2]
    first = form[form.index("<button") : form.index("</button>")]
    assert 'value="show"' in first
    assert 'tabindex="-1"' in first


def test_what_is_weighed_out_adds_up_to_what_the_scale_shows(client: Client, db: None, demo_text: str) -> None:
    """The sum of the weights down to each line, taken by hand, against the line's own running figure, to the gram."""
    client.post("/start/from-a-file/", {"text": demo_text})
    code = Commission.objects.get().code
    page = client.get(f"/commissions/{code}/glazes/").content.decode()
    rows = re.findall(r'<tr><th scope="row">.*?</tr>', page.partition("Weigh out")[2].partition("</table>")[0])
    total = 0.0
    for row in rows:
        weighed = re.search(r"<summary>([\d.,]+)\s*g", row.replace("\N{NO-BREAK SPACE}", " "))
        shown = re.findall(r">([\d.,]+) g</td>", row)[-1]
        assert weighed is not None
        total += float(weighed[1].replace(",", ""))
        assert total == pytest.approx(float(shown.replace(",", "")), abs=1.0)
    assert len(rows) == 5
    assert "SiO₂" in page


@pytest.mark.parametrize(
    ("problem", "heading", "status"),
    [
        (OperationalError("database or disk is full"), "The disk is full", 507),
        (OperationalError("attempt to write a readonly database"), "The workshop folder may not be written", 507),
        (OSError(28, "No space left on device"), "The disk is full", 507),
        (RuntimeError("database or disk is full"), "Something broke in the studio", 500),
    ],
)
def test_what_could_not_be_kept_is_shown_again_with_the_reason(
    client: Client, db: None, monkeypatch: pytest.MonkeyPatch, problem: Exception, heading: str, status: int
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise problem

    monkeypatch.setattr(keeping, "new_commission", fail)
    client.raise_request_exception = False
    sent = client.post("/start/", {**FOUR, "name": "Cup <b>of</b> tea", "do": "save"})
    page = sent.content.decode()
    assert sent.status_code == status
    assert heading in page
    assert "Cup &lt;b&gt;of&lt;/b&gt; tea" in page
    assert "csrf" not in page
