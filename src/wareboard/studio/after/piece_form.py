"""The boxes of a piece and of a clay lot. Nothing but the form is needed: what is not known stays empty."""

from __future__ import annotations

from typing import Any

from django import forms

from wareboard.book.boards.codes import read_code
from wareboard.book.boards.models import Board
from wareboard.book.boards.stages import PLACES
from wareboard.book.firings.models import Firing
from wareboard.book.glazes.models import GlazeBatch
from wareboard.book.pieces.grading import faults
from wareboard.book.pieces.models import GRADES, KINDS, ClayLot, Piece
from wareboard.errors import WareboardError
from wareboard.quantities import length_mm, mass_g
from wareboard.studio.kilns.boxes import Read, number

NOT_KNOWN = "Not known"


def _day(label: str) -> forms.DateField:
    box = forms.DateField(
        label=label, required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    box.error_messages["invalid"] = "This is not a day. Write it as year-month-day, or leave it empty."
    return box


def _board(words: str) -> Board:
    code = read_code(words)
    found = Board.objects.filter(code=code).first()
    if found is None:
        raise WareboardError(f"board {code}", "there is none of that code", "Leave it empty where it is not known")
    return found


class PieceForm(forms.Form):
    """A piece: what it is, where it was, how it came out."""

    form = forms.CharField(label="Form", max_length=80)
    kind = forms.ChoiceField(label="What it is", choices=KINDS)
    mark = forms.CharField(label="Mark or number on it", required=False, max_length=40)
    grade = forms.ChoiceField(label="Grade", choices=[("", "Not graded"), *GRADES], required=False)
    fault = forms.CharField(label="What is wrong", required=False, max_length=30)
    place = forms.CharField(label="Where on it", required=False, max_length=40)
    board = Read(_board, "C12", label="Board", help_text="Leave empty where not known.")
    firing = forms.ModelChoiceField(Firing.objects.none(), label="Firing", required=False, empty_label=NOT_KNOWN)
    shelf = forms.CharField(label="Place on the shelf", required=False, max_length=40)
    lots = forms.ModelMultipleChoiceField(
        ClayLot.objects.none(), label="Clay lot", required=False, widget=forms.CheckboxSelectMultiple
    )
    batches = forms.ModelMultipleChoiceField(
        GlazeBatch.objects.none(), label="Glaze batch", required=False, widget=forms.CheckboxSelectMultiple
    )
    height_mm = Read(length_mm, "94 mm", label="Height")
    width_mm = Read(length_mm, "84 mm", label="Width")
    weight_g = Read(mass_g, "310 g", label="Weight")
    colour_l = number("Colour L*", "As a colorimeter reads it.", "", 0.0, 100.0)
    colour_a = number("Colour a*", "", "", -128.0, 128.0)
    colour_b = number("Colour b*", "", "", -128.0, 128.0)
    words = forms.CharField(label="Words that may be shown", required=False, max_length=200)
    note = forms.CharField(
        label="Private note", required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: Any, forms_known: list[str], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["firing"].queryset = Firing.objects.filter(put_away=None).select_related("kiln").order_by("-day")  # type: ignore[attr-defined]
        self.fields["lots"].queryset = ClayLot.objects.filter(put_away=None)  # type: ignore[attr-defined]
        self.fields["batches"].queryset = GlazeBatch.objects.filter(put_away=None).select_related("version__recipe")  # type: ignore[attr-defined]
        self.fields["batches"].label_from_instance = batch_words  # type: ignore[attr-defined]
        for name, choices in (("form", forms_known), ("fault", [each.name for each in faults()]), ("place", PLACES)):
            self.fields[name].widget.attrs |= {"list": f"{name}-known", "autocomplete": "off"}
            self.fields[name].choices_known = choices  # type: ignore[attr-defined]

    def known(self) -> list[tuple[str, list[str]]]:
        """Words offered in the boxes that take any."""
        return [(f"{name}-known", list(self.fields[name].choices_known)) for name in ("form", "fault", "place")]  # type: ignore[attr-defined]

    def plain(self) -> dict[str, Any]:
        """The fields of the piece itself, without clay and glaze."""
        return {name: value for name, value in self.cleaned_data.items() if name not in ("lots", "batches")}


def batch_words(batch: GlazeBatch) -> str:
    """A batch by its number and its glaze."""
    return f"Batch {batch.number}: {batch.version.recipe.name}"


def as_written(piece: Piece) -> dict[str, Any]:
    """A piece as its boxes show it."""
    units = {"height_mm": "mm", "width_mm": "mm", "weight_g": "g"}
    found: dict[str, Any] = {
        name: getattr(piece, name)
        for name in ("form", "kind", "mark", "grade", "fault", "place", "firing", "shelf", "words", "note")
    }
    found["board"] = piece.board.code if piece.board else ""
    for name in ("height_mm", "width_mm", "weight_g", "colour_l", "colour_a", "colour_b"):
        value = getattr(piece, name)
        found[name] = "" if value is None else f"{value:g} {units.get(name, '')}".strip()
    found["lots"] = [row.lot_id for row in piece.made_of.filter(put_away=None)]
    found["batches"] = [row.batch_id for row in piece.wears.filter(put_away=None)]
    return found


class LotForm(forms.Form):
    """A clay lot."""

    clay = forms.CharField(label="Clay", max_length=80)
    supplier = forms.CharField(label="Supplier", required=False, max_length=80)
    code = forms.CharField(label="Supplier’s lot code", required=False, max_length=60)
    bought = _day("Bought")
    kg = number("Weight, kg", "", "250", 0.001, 1e6)
    opened = _day("Opened")
    note = forms.CharField(label="Note", required=False, max_length=200)
