"""Writing down what a print measured, taking it back, and the factors that the next print is drawn by.

The last measurement of a printer that was not taken back counts: a printer changes with its paper and its settings, and
whoever measures again means the new figure.
"""

from __future__ import annotations

import math
from datetime import datetime

from wareboard.book.printing.models import PrintMeasured
from wareboard.errors import OutOfRange, Unreadable
from wareboard.working import per_cent

LINE_MM = 100.0
MOST_OFF = 0.05
LONGEST_NAME = 60


def measured(
    printer: str, across_mm: float, up_mm: float, drawn: tuple[float, float], who: str, when: datetime
) -> PrintMeasured:
    """Write down what the two lines of 100 mm came out as on a page that was drawn ``drawn`` times larger.

    Raises:
        Unreadable: if the printer has no name.
        OutOfRange: if the printer would be out by more than 5 %.
    """
    name = " ".join(printer.split())[:LONGEST_NAME]
    if not name:
        raise Unreadable("printer", "it has no name", "Call it something, such as Office laser")
    for direction, found, factor in (("across", across_mm, drawn[0]), ("up", up_mm, drawn[1])):
        off = found / (LINE_MM * factor) - 1
        if not (math.isfinite(off) and abs(off) <= MOST_OFF):
            raise OutOfRange(
                f"line {direction} of {found:g} mm",
                why=f"it was drawn {LINE_MM * factor:.1f} mm long, and no printer is out by more than {per_cent(MOST_OFF)}",
                mend='Print at 100 %, without "fit to page", and measure in mm from end to end',
            )
    known = PrintMeasured.objects.filter(printer__iexact=name).first()
    return PrintMeasured.objects.create(
        printer=known.printer if known else name,
        across_mm=across_mm,
        up_mm=up_mm,
        drawn_across=drawn[0],
        drawn_up=drawn[1],
        who=who,
        written=when,
    )


def take_back(record: PrintMeasured, when: datetime) -> None:
    """Leave a measurement out; the one before it counts again."""
    record.taken_back = record.taken_back or when
    record.save(update_fields=["taken_back"])


def put_back(record: PrintMeasured) -> None:
    """Let a measurement that was taken back count again."""
    record.taken_back = None
    record.save(update_fields=["taken_back"])


def counting() -> dict[str, PrintMeasured]:
    """The measurement that counts, by printer, in the order of their names."""
    found: dict[str, PrintMeasured] = {}
    for record in PrintMeasured.objects.filter(taken_back=None).order_by("written", "pk"):
        found[record.printer] = record
    return dict(sorted(found.items(), key=lambda each: each[0].lower()))


def factors(printer: str) -> tuple[float, float]:
    """How much larger to draw for a printer, across and up; 1 where nothing is known of it.

    Source: proportion: drawn 100 f mm, came out m mm, so the printer's own scale is m / (100 f), and it is drawn 1 / that.
    """
    record = counting().get(printer)
    if record is None:
        return 1.0, 1.0
    return LINE_MM * record.drawn_across / record.across_mm, LINE_MM * record.drawn_up / record.up_mm
