"""What the records need to know of a commission's brief: each form's kind, its handle, its sizes, and the clay."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from wareboard import reference
from wareboard.book.models import Commission
from wareboard.errors import WareboardError
from wareboard.plan.assume import Assumer
from wareboard.plan.brief import Brief, Form
from wareboard.plan.stages import STAGES

USUAL_SHRINKAGE = 0.12  # near enough to turn a fired wall into a wet one


@dataclass(frozen=True, slots=True)
class FormFacts:
    """A form as records see it: its kind, the yields its plan knows in order, how thick it is wet, whether it is plain."""

    name: str
    kind: str
    yields: tuple[str, ...]
    thickest_wet_mm: float
    marks: int
    has_lid: bool


@dataclass(frozen=True, slots=True)
class BriefFacts:
    """A brief as records see it; empty where it cannot be read."""

    clay: str = ""
    forms: Mapping[str, FormFacts] = field(default_factory=dict)
    brief: Brief | None = None


@lru_cache(maxsize=512)
def facts_of_text(text: str) -> BriefFacts:
    """What a brief's text says; nothing of it where it cannot be read."""
    from wareboard.plan.reading import read_brief

    try:
        brief = read_brief(text, clay_from_records=True)
    except WareboardError:
        return BriefFacts()
    return BriefFacts(brief.clay.name, {form.name: _form(form, brief) for form in brief.forms}, brief)


def facts_of(commission: Commission) -> BriefFacts:
    """What a commission's current brief says."""
    version = commission.paper.current
    return facts_of_text(version.text) if version else BriefFacts()


def _form(form: Form, brief: Brief) -> FormFacts:
    from wareboard.plan.handwork import marks_a_piece
    from wareboard.plan.shape import KINDS, shape_of

    kind = KINDS[shape_of(form, Assumer())]
    yields = tuple(
        stage
        for stage in STAGES
        if reference.has_default(f"yield.{kind}.{stage}") and (stage != "handled" or form.handle is not None)
    )
    wall = form.wall or reference.default(f"wall.{kind}").value
    floor = form.floor or reference.default(f"floor.{kind}").value
    handle = (form.handle.thickness or reference.default("handle.thickness_mm").value) if form.handle else 0.0
    thickest = max(wall, floor, handle) / (1.0 - USUAL_SHRINKAGE)
    # A mark kept in the studio is in no brief: as many as the form says.
    marks = marks_a_piece(form, brief) or form.marks
    return FormFacts(form.name, kind, yields, thickest, marks, form.lid is not None)
