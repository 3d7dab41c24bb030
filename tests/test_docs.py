"""The documents name every field, command, option and default that the code has."""

import importlib
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from wareboard import reference
from wareboard.commands import COMMANDS
from wareboard.plan.brief import Brief, Clay, Form, Glaze, Handle, Lid, Mark, Measured
from wareboard.plan.workshop import Firing, Kiln, Person, Prices, Workshop

ROOT = Path(__file__).parent.parent
BRIEF_DOC = (ROOT / "docs/brief.md").read_text(encoding="utf-8")
COMMAND_DOC = (ROOT / "docs/commands.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "model", [Brief, Clay, Form, Glaze, Handle, Lid, Mark, Measured, Firing, Kiln, Person, Prices, Workshop]
)
def test_every_field_of_a_brief_is_documented(model: type) -> None:
    unsaid = [name for name in model.model_fields if f"`{name}`" not in BRIEF_DOC]  # type: ignore[attr-defined]
    assert set(unsaid) <= {"today", "own"}  # put in by whoever asks; described as [own.good] and [own.minutes]


def commands() -> Iterator[tuple[str, click.Command]]:
    for name, (place, _) in COMMANDS.items():
        module, attribute = place.split(":")
        yield name, getattr(importlib.import_module(module), attribute)


@pytest.mark.parametrize(("name", "command"), list(commands()))
def test_every_command_and_option_is_documented(name: str, command: click.Command) -> None:
    row = next(line for line in COMMAND_DOC.splitlines() if line.startswith(f"| `{name}"))
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            assert f"`{parameter.opts[0]}`" in row
    assert command.name == name


def test_every_default_has_a_range_round_it_and_a_source_that_is_known() -> None:
    for figure in reference.defaults():
        assert figure.low <= figure.value <= figure.high, figure.key
        known = figure.source in reference.WORDS_FOR_SOURCES or figure.source in reference.sources()
        assert known, (figure.key, figure.source)


def test_a_table_that_is_not_shipped_is_refused_by_name() -> None:
    with pytest.raises(LookupError, match="no-such"):
        reference.rows("no-such")
    with pytest.raises(LookupError, match="no-such"):
        reference.default("no-such")
