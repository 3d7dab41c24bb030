"""Sheets of the pictures that a brief names: the mark's templates and the painter's card of each form."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from wareboard.plan.artwork import mark_on, painting_on
from wareboard.plan.result import Plan
from wareboard.sheets.dossier import names_of_forms
from wareboard.sheets.mark_sheet import mark_sheet
from wareboard.sheets.painter_sheet import painter_sheet
from wareboard.sheets.typesetting import Paper


def artwork_sheets(plan: Plan, folder: Path, paper: Paper = "a4") -> Iterator[tuple[str, str, Mapping[str, object]]]:
    """File name, template and data of each sheet of the pictures that the brief names, which lies in ``folder``.

    Raises:
        WareboardError: if a picture cannot be used, naming its key and file.
    """
    names = names_of_forms(plan)
    for form in plan.forms:
        if form.form.carving is not None:
            found = mark_on(plan, form, folder, paper=paper)
            yield f"mark-{names[form.name]}.pdf", "mark", mark_sheet(plan, found, paper)
        if form.form.brushwork is not None:
            painted = painting_on(plan, form, folder)
            yield f"painters-card-{names[form.name]}.pdf", "painter", painter_sheet(plan, painted, paper)
