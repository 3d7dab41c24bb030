"""A plan's forms in use: every line's formula worked out, and the command and page that show them."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner
from django.test import Client

from tests.plan.test_solids import BRIEF
from wareboard.book import keeping
from wareboard.commands import wareboard
from wareboard.commands.form import plan_of
from wareboard.plan.in_use import in_use
from wareboard.studio.today import now
from wareboard.working import worked_out


@pytest.fixture(scope="module")
def brief(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("use") / "brief.toml"
    file.write_text(BRIEF, encoding="utf-8")
    return file


def test_every_formula_meets_its_value(brief: Path) -> None:
    plan = plan_of(brief)
    for form, headings in zip(plan.forms, (4, 2), strict=True):
        found = in_use(plan, form)
        assert len(found.groups) == headings
        for step in found.steps:
            if step.formula:
                assert worked_out(step.formula, step.inputs) == pytest.approx(step.value), step.name
            else:
                assert step.how


def test_the_command_says_it_in_words(brief: Path) -> None:
    done = CliRunner().invoke(wareboard, ["form", "use", str(brief), "--stacked", "2"])
    assert done.exit_code == 0, done.output
    for words in ("Where the handle is joined", "In the hand, full to the brim", "In a stack", "turns the wrist by"):
        assert words in done.output
    lid = CliRunner().invoke(wareboard, ["form", "use", str(brief), "--form", "Jar", "--working"])
    assert "flange to throw" in lid.output
    assert "times in 100" in lid.output


@pytest.mark.django_db
def test_the_page_of_a_form_shows_it(client: Client) -> None:
    made = keeping.new_commission(BRIEF, "Invented", why="Begun", who="", when=now())
    page = client.get(f"/commissions/{made.code}/forms/jar/round/").content.decode()
    assert "Lid and body" in page
    assert "In a stack" in page
