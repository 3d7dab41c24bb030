"""All that the book's records teach, together: every figure with its records, and the figures as a plan takes them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time

from django.utils import timezone

from wareboard.book.learning.figures import Figure, marks
from wareboard.book.learning.from_boards import BoardsRead, Through, read_boards, through
from wareboard.book.learning.from_measures import measured_pieces, pick_ups_at_the_bench
from wareboard.book.learning.kilns import kiln_figures
from wareboard.book.learning.losses import loss_figures
from wareboard.book.learning.minutes import minute_figures
from wareboard.book.learning.pace_of_drying import drying_figures
from wareboard.book.learning.pick_up import pick_up_figures
from wareboard.book.learning.shrinkage import from_briefs, shrinkage_figures
from wareboard.plan.own import Own
from wareboard.plan.workshop import Workshop


def start_of(day: date) -> datetime:
    """The moment a day begins in the workshop's own time."""
    return timezone.make_aware(datetime.combine(day, time.min))


@dataclass(frozen=True, slots=True)
class FromBoards:
    """What the boards told up to a day: their entries, and the pieces that went through each stretch."""

    read: BoardsRead
    through: list[Through]


def from_boards(day: date) -> FromBoards:
    """What the boards told up to the morning of a day; slow enough, with thousands of boards, to be kept for that day."""
    read = read_boards(before=start_of(day))
    return FromBoards(read, through(read))


def figures_on(day: date, workshop: Workshop | None = None, boards: FromBoards | None = None) -> list[Figure]:
    """Every figure of which there is a record.

    Args:
        day: the day of the plan. What boards and the bench's measurements say counts from the morning after, so that no
            plan moves under the hands at work; sizes in briefs, firings, a bucket's weighed pieces and times written by hand
            count at once.
        workshop: for the power of its kilns.
        boards: what they told up to that day, where it is at hand.
    """
    said, told = marks(day), boards or from_boards(day)
    return [
        *shrinkage_figures([*from_briefs(), *measured_pieces(start_of(day))], said),
        *loss_figures(told.through, said),
        *minute_figures(told.read, said),
        *drying_figures(start_of(day), said),
        *pick_up_figures(said, pick_ups_at_the_bench(start_of(day))),
        *kiln_figures(workshop or Workshop(), said),
    ]


def own_of(figures: list[Figure]) -> Own:
    """The figures that plans use, as a plan takes them."""
    found = [figure.own() for figure in figures if figure.used]
    return Own.of(each for each in found if each is not None)
