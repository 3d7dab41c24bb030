"""What a command writes beside what it says."""

from __future__ import annotations

from pathlib import Path

import click


def written(place: Path, text: str) -> None:
    """Write a file and say so, refusing by name where it cannot be."""
    from wareboard.errors import Unreadable

    try:
        place.write_text(text, encoding="utf-8", newline="")
    except OSError as problem:
        why = f"it cannot be written ({problem.strerror})"
        raise Unreadable(str(place), why, "Check the folder and its rights") from None
    click.echo(f"{place} written.")
