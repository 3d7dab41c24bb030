"""What a command on a mark or a painting takes from a brief: its plan, the form, and which options it still may be told."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click
from click.core import ParameterSource

if TYPE_CHECKING:
    from wareboard.plan.result import FormPlan, Plan

LEAST_SECONDS = 0.01  # nothing that is asked here hangs on the calendar
OF_PAINTING = frozenset({"artwork", "form", "today", "rules", "facing", "out", "working"})
# Options of the mark that go before what the brief says, and what they are called there.
OF_MARK = {
    "width": "width_mm", "height": "height_mm", "at": "at_mm", "groove": "groove_mm", "count": "count", "trace": "kind",
    "cut": "cut", "lay": "lay", "mirror": "mirrored", "light_on_dark": "light_on_dark", "copies": "copies", "fill": "fill",
    "paper": "paper",
}  # fmt: skip
BESIDE_MARK = frozenset({"drawing", "form", "today", "out", "give", "working"})


def said(context: click.Context) -> frozenset[str]:
    """The options and arguments that were typed."""
    typed = ParameterSource.COMMANDLINE
    return frozenset(name for name in context.params if context.get_parameter_source(name) is typed)


def refuse_others(context: click.Context, brief: Path, allowed: Collection[str], needed: str) -> None:
    """Refuse what is no brief, and what the brief says already."""
    from wareboard.errors import Unreadable

    if brief.suffix.lower() != ".toml":
        raise click.UsageError(f"Missing {needed}. Only a brief (a .toml file) can do without it.", context)
    for name in sorted(said(context) - set(allowed)):
        option = f"--{name.replace('_', '-')}"
        mend = "Leave it out, change the brief, or give the picture itself instead of the brief"
        raise Unreadable(option, "that comes from the brief", mend)


def planned(brief: Path, today: datetime | None = None, pictures: bool = True) -> Plan:
    """The plan of a brief with the workshop's file beside it, its calendar not looked for; it may have been due long ago.

    The pictures that it names are looked for unless ``pictures`` says no.
    """
    from wareboard.commands.plan import brief_from, own_for, today_or, workshop_for
    from wareboard.plan import compile

    day = today_or(today)
    workshop = workshop_for(brief, None, day)
    own = own_for(brief, None, workshop, day)
    return compile(brief_from(brief, workshop, None, own, pictures), workshop, own=own, seconds=LEAST_SECONDS)


def the_form(plan: Plan, part: str, name: str | None) -> FormPlan:
    """The form of that name that has a ``part`` ("carving" or "brushwork"); the only one where none is named.

    Raises:
        Unreadable: if there is none, or several and none was named.
    """
    from wareboard.errors import Unreadable

    having = [form for form in plan.forms if getattr(form.form, part) is not None]
    names = ", ".join(form.name for form in having)
    if not having:
        raise Unreadable("the brief", f"no form of it has a [forms.{part}]", "Add one, or give the picture itself")
    found = [form for form in having if name is None or form.name.lower() == name.strip().lower()]
    if not found:
        raise Unreadable(f"form {name!r}", f"it has no [forms.{part}] in the brief", f"Write one of: {names}")
    if len(found) > 1:
        raise Unreadable("the form", f"several have a [forms.{part}]", f"Say which with --form: {names}")
    return found[0]
