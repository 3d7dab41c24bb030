"""What a command writes beside what it says: files that a person named, never over one that stands there unless asked."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, TypeVar

import click

from wareboard.named_file import refuse_standing, write_whole

Command = TypeVar("Command", bound=Callable[..., Any])
REPLACE = "wareboard.replace"


def _note(ctx: click.Context, _: click.Parameter, value: bool) -> bool:
    ctx.meta[REPLACE] = value
    return value


def replace_option(command: Command) -> Command:
    """``--replace``, which every command that writes a named file has: `written` and `FileToWrite` heed it by themselves."""
    words = "Write over a file of the same name; it stays until the new one is whole."
    return click.option("--replace", is_flag=True, is_eager=True, expose_value=False, callback=_note, help=words)(
        command
    )


def replacing() -> bool:
    """Whether the command that runs was called with ``--replace``."""
    ctx = click.get_current_context(silent=True)
    return bool(ctx and ctx.meta.get(REPLACE))


class FileToWrite(click.Path):
    """A file that a command is to write: refused at once, before any work, where one of that name stands already."""

    def __init__(self) -> None:
        super().__init__(dir_okay=False, path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The path, or the refusal with its mend."""
        place = Path(os.fsdecode(super().convert(value, param, ctx)))
        refuse_standing(place, bool(ctx and ctx.meta.get(REPLACE)))
        return place


TO_WRITE = FileToWrite()


def written(place: Path, content: str | bytes, *, say: bool = True) -> None:
    """Write a file and say so, refusing by name where it cannot be or where one stands there already."""
    write_whole(place, content, replacing())
    if say:
        click.echo(f"{place} written.")


def refuse_any_standing(places: Iterable[Path]) -> None:
    """Refuse before the first of several files is written, where any of them stands there already."""
    for place in places:
        refuse_standing(place, replacing())
