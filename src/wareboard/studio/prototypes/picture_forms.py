"""The boxes of the mark's page, the painting's and the tiles'."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms

from wareboard.plan.marked import MarkAsked
from wareboard.plan.painted import PaintAsked
from wareboard.quantities import cone_name, length_mm
from wareboard.studio.kilns.boxes import Read, number
from wareboard.studio.printed import paper_here

if TYPE_CHECKING:
    from collections.abc import Sequence

    from wareboard.paint.order import Rule

USUAL_COATS = 3
PAPERS = (("a4", "A4"), ("letter", "Letter"), ("a3", "A3"))


def _length(label: str, example: str, note: str = "") -> Read:
    def read(words: str) -> float:
        from wareboard.given import positive

        return positive(length_mm(words), label.lower(), "mm")

    return Read(read, example, label=label, help_text=note)


def _rules(words: str) -> tuple[Rule, ...]:
    from wareboard.paint.rule_lines import rules_in_lines

    return rules_in_lines(words, length_mm)


def _whole(label: str, least: int, most: int, note: str = "") -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=least, max_value=most, required=False, help_text=note)


class OnAForm(forms.Form):
    """Boxes of a picture that goes on one form of the commission; ``others`` are the forms that have one too."""

    same_as = forms.ChoiceField(
        label="Or the same as", required=False,
        help_text="Replaced there, it is replaced here too; the boxes below are this form’s own.",
    )  # fmt: skip

    def __init__(self, *args: Any, others: Sequence[str] = (), **more: Any) -> None:
        super().__init__(*args, **more)
        if others:
            named = [(name, f"That of {name}") for name in others]
            self.fields["same_as"].choices = [("", "No, its own"), *named]  # type: ignore[attr-defined]
        else:
            del self.fields["same_as"]

    def typed(self) -> dict[str, str]:
        """The boxes as they were typed, to be shown again; a box that was not ticked is empty."""
        return {name: str(self.data.get(name, "")) for name in self.fields if name != "same_as"}


class MarkForm(OnAForm):
    """The mark: its fired size, where it goes, how it is cut and printed."""

    height = _length("Height when fired", "20 mm", "Height or width; the other follows.")
    width = _length("Width when fired", "15 mm")
    at = _length("Its middle above the foot", "40 mm", "When fired; half way up where left out.")
    count = _whole("How many round the piece", 1, 60)
    groove = _length("Narrowest groove", "1 mm", "When fired; the usual one where left out.")
    kind = forms.ChoiceField(
        label="What is carved", choices=(("lines", "One line a stroke"), ("outlines", "The outlines")),
        help_text="Down the middle of each stroke, or round its edge.",
    )  # fmt: skip
    cut = forms.ChoiceField(label="Cut", choices=(("incised", "Into the clay"), ("raised", "Standing out of it")))
    lay = forms.ChoiceField(
        label="Laid",
        choices=(("plain", "As drawn"), ("level", "Level all round")),
        help_text="Letters keep their shape as drawn; a frieze is laid level.",
    )
    copies = _whole("Templates to print", 1, 400)
    paper = forms.ChoiceField(label="Paper", choices=PAPERS, initial=paper_here)
    mirrored = forms.BooleanField(label="Mirrored, to be laid face down", required=False)
    fill = forms.BooleanField(label="Fill the page with spares", required=False)
    light_on_dark = forms.BooleanField(label="Light lines on dark ground", required=False)

    def asked(self) -> MarkAsked:
        """What the boxes ask for."""
        found = self.cleaned_data
        return MarkAsked(
            width_mm=found["width"], height_mm=found["height"], at_mm=found["at"], count=found["count"] or 1,
            groove_mm=found["groove"], kind=found["kind"], cut=found["cut"], lay=found["lay"],
            mirrored=found["mirrored"], copies=found["copies"] or 1, fill=found["fill"], paper=found["paper"],
            light_on_dark=found["light_on_dark"],
        )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        """The boxes; a size is needed."""
        found: dict[str, Any] = super().clean() or {}
        if not self.errors and not (found.get("height") or found.get("width")):
            self.add_error("height", "Say how high or how wide the mark is when fired.")
        return found


class PaintForm(OnAForm):
    """The painting: coats, brush, where it lies, which tiles."""

    coats = _whole("Coats at most", 1, 20, "One glaze to a coat; 5 where left out.")
    brush = _length("Brush", "3 mm", "Nothing is painted thinner.")
    off_foot = _length("Wall left free at the foot", "5 mm", "When fired.")
    off_rim = _length("Wall left free at the rim", "5 mm", "When fired.")
    repeats = _whole("How often round the piece", 1, 60, "As stretches it least where left out.")
    inside = forms.BooleanField(label="On the inside, as on a plate", required=False)
    over_lip = forms.BooleanField(label="Over a pulled lip too, which is else left bare", required=False)
    body = forms.CharField(label="Body, as the tiles name it", required=False, max_length=80)
    cone = forms.CharField(label="Cone, as the tiles name it", required=False, max_length=10)
    rules = Read(
        _rules, "Honey before Black\nHoney never over Sky\nSky kept 6 mm off the foot", label="Your own rules for coats",
        widget=forms.Textarea(attrs={"rows": 3}), max_length=2000,
        help_text="One a line, as in the example; the reason may follow in brackets. They hold besides the usual ones.",
    )  # fmt: skip

    def asked(self) -> PaintAsked:
        """What the boxes ask for."""
        found = self.cleaned_data
        return PaintAsked(
            coats=found["coats"] or 5, brush_mm=found["brush"] or 3.0, off_foot_mm=found["off_foot"] or 0.0,
            off_rim_mm=found["off_rim"] or 0.0, repeats=found["repeats"], inside=found["inside"],
            over_lip=found["over_lip"],
        )  # fmt: skip


def _pixels(count: int) -> Any:
    def read(words: str) -> list[float]:
        from wareboard.errors import Unreadable

        parts = words.replace(",", " ").replace(";", " ").split()
        try:
            found = [float(part) for part in parts]
        except ValueError:
            found = []
        if len(found) != count:
            raise Unreadable(
                words.strip()[:40], f"it is not {count} numbers", "Click on the picture, or count its dots"
            )
        return found

    return read


class TileForm(forms.Form):
    """A tile and one photograph of it: what it is, raw or fired, and where tile and reference stand in it."""

    name = forms.CharField(label="Name of the tile", max_length=80)
    glaze = forms.CharField(label="Glaze", required=False, max_length=80, help_text="Empty for the bare body.")
    coats = forms.IntegerField(
        label="Coats",
        min_value=0,
        max_value=20,
        initial=3,
        required=False,
        help_text="3 where left out; none on bare body.",
    )
    over = forms.CharField(label="Over which other glaze", required=False, max_length=80)
    over_coats = forms.IntegerField(label="Coats beneath", min_value=0, max_value=20, required=False)
    body = forms.CharField(label="Body", required=False, max_length=80)
    cone = Read(cone_name, "6", label="Cone", max_length=10)
    runs = forms.BooleanField(label="It runs in the fire", required=False)
    stage = forms.ChoiceField(label="The photograph shows it", choices=(("fired", "Fired"), ("raw", "Raw")))
    tile_box = Read(
        _pixels(4), "400 300 520 420", label="The tile in the picture", required=True,
        help_text="Left, top, right, bottom in dots: click two opposite corners.",
    )  # fmt: skip
    grey_box = Read(
        _pixels(4), "40 300 90 350", label="Grey patch in the picture", help_text="Two opposite corners, or the card."
    )
    grey_lightness = number("Lightness L* of the grey patch", "", "50", 1.0, 100.0)
    corners = Read(
        _pixels(8), "10,10 610,10 610,410 10,410", label="Corners of the card’s 24 patches",
        help_text="Round from the brown patch.",
    )  # fmt: skip
    edition = forms.ChoiceField(
        label="Date on the card", required=False, choices=(("after 2014", "After 2014"), ("before 2014", "Before 2014"))
    )

    def clean(self) -> dict[str, Any]:
        """The boxes; one reference is needed."""
        found: dict[str, Any] = super().clean() or {}
        found["cone"] = found.get("cone") or ""
        if not found.get("glaze"):
            found["coats"] = 0
        elif found.get("coats") is None and "coats" not in self.errors:
            found["coats"] = USUAL_COATS
        if not self.errors and bool(found.get("corners")) == bool(found.get("grey_box")):
            self.add_error("corners", "Give the card’s corners or a grey patch, one of them.")
        return found
