"""A tied recipe written into a commission's brief, so that its plan weighs out and looks at the glaze that is used."""

from __future__ import annotations

from wareboard.book import keeping
from wareboard.book.firings.signing import Signed
from wareboard.book.glazes.models import RecipeVersion
from wareboard.book.models import Version
from wareboard.errors import NotInTable, OutOfRange
from wareboard.glaze.material import shelf
from wareboard.studio.history import commission_of, current_of
from wareboard.studio.paper_text import PaperText


def write_into_brief(code: str, glaze: str, version: RecipeVersion, by: Signed) -> Version:
    """The brief's new version, with the recipe of that version as the glaze's own; it can be undone with the brief.

    Raises:
        OutOfRange: if the brief has no such glaze. NotInTable: for materials that a plan does not know.
        Unreadable: if the brief cannot be changed by its fields.
    """
    commission = commission_of(code)
    now = current_of(commission)
    paper = PaperText(now.text)
    named = [str(each.get("name", "")) for each in paper.plain.get("glazes", [])]
    if glaze not in named:
        raise OutOfRange(glaze, "the brief names no such glaze any more", "Tie one of those that it names")
    strange = [name for name, _ in (*version.base, *version.additions) if name not in shelf()]
    if strange:
        raise NotInTable(
            f"{', '.join(strange)} in a brief",
            "plans know the materials of the shipped table only",
            "Leave the brief as it is: weigh out on the recipe's own page",
        )
    for key, lines in (("recipe", version.base), ("additions", version.additions)):
        paper.put_amounts(("glazes", named.index(glaze), key), "\n".join(f"{name} {parts:g}" for name, parts in lines))
    why = f"{glaze} is {version}"
    return keeping.write(commission.paper, paper.text(), seen=now.pk, why=why, who=by.who, when=by.when)
