"""Invoices: numbered without gaps, never changed, voided by a counter entry. What law asks is not looked at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation

from django.db import transaction

from wareboard.book.firings.signing import Signed
from wareboard.book.models import Commission
from wareboard.book.pieces.models import Invoice
from wareboard.errors import OutOfRange, Unreadable
from wareboard.plan.price import DECIMALS, money

MOST_LINES, MOST_COUNT, MOST_EACH = 60, 100_000, Decimal(10_000_000)


@dataclass(frozen=True, slots=True)
class Line:
    """One line: what, how many, at how much each."""

    words: str
    count: int
    each: Decimal

    @property
    def total(self) -> Decimal:
        return self.count * self.each


@dataclass(frozen=True, slots=True)
class Sums:
    """What an invoice comes to: before tax, the tax (none without a share), and in all."""

    net: Decimal
    tax: Decimal | None
    total: Decimal


@dataclass(frozen=True, slots=True)
class Terms:
    """To whom, in which currency, what is said of tax, and from whom; ``tax_share`` none means no tax line.

    ``sender`` is the workshop's name and address, line under line; what is empty is left for the pen.
    """

    to: str
    currency: str
    tax_share: Decimal | None = None
    tax_words: str = ""
    sender: str = ""
    tax_number: str = ""
    how_to_pay: str = ""


def read_line(words: str, count: str, each: str, currency: str) -> Line:
    """A line as it was typed.

    Raises:
        Unreadable, OutOfRange: naming the line.
    """
    words = " ".join(words.split())[:120]
    if not words:
        raise Unreadable("a line without words", "the client could not tell what it is", "Say what it is")
    try:
        number, amount = int(count.strip()), Decimal(each.strip().replace(",", "."))
    except (ValueError, InvalidOperation):
        why = "how many and how much each are written in digits, such as 12 and 38.50"
        raise Unreadable(f"{words}: {count[:12]!r} at {each[:16]!r}", why, "Write both again") from None
    if not amount.is_finite() or not 1 <= number <= MOST_COUNT or abs(amount) > MOST_EACH:
        raise OutOfRange(f"{words}: {number} at {amount}", "that cannot be", f"Write 1 to {MOST_COUNT} and an amount")
    smallest = Decimal(1).scaleb(-DECIMALS.get(currency, 2))
    if amount != amount.quantize(smallest, rounding=ROUND_HALF_UP):
        raise OutOfRange(f"{words}: {amount} {currency}", f"the smallest coin is {smallest}", "Round it")
    return Line(words, number, amount)


def sums(lines: Sequence[Line], currency: str, tax_share: Decimal | None) -> Sums:
    """Net, tax and total, the tax once on the sum, rounded to the smallest coin, halves up.

    A counter entry's sums are those of its invoice with the other sign.
    """
    net = money(sum((each.total for each in lines), Decimal(0)), currency)
    if tax_share is None:
        return Sums(net, None, net)
    tax = money(abs(net) * tax_share, currency).copy_sign(net)
    return Sums(net, tax, net + tax)


def lines_of(invoice: Invoice) -> tuple[Line, ...]:
    """The lines of an invoice as they were kept."""
    return tuple(Line(words, count, Decimal(each)) for words, count, each in invoice.lines)


def sums_of(invoice: Invoice) -> Sums:
    """What a kept invoice comes to."""
    return sums(lines_of(invoice), invoice.currency, invoice.tax_share)


def write_invoice(
    commission: Commission, key: str, lines: Sequence[Line], terms: Terms, day: date, by: Signed
) -> tuple[Invoice, bool]:
    """The invoice with the next number, kept once by its key; and whether it was there already.

    Raises:
        Unreadable: without lines, or to nobody.
        OutOfRange: for a tax share outside 0 to 1, or too many lines.
    """
    if not lines or not terms.to.strip():
        missing = "lines" if not lines else "a name"
        raise Unreadable(f"an invoice without {missing}", "it needs both lines and whom it is for", "Fill them in")
    if len(lines) > MOST_LINES:
        raise OutOfRange(f"{len(lines)} lines", f"an invoice has at most {MOST_LINES}", "Write two")
    share = terms.tax_share
    if share is not None and not (share.is_finite() and 0 <= share <= 1):
        raise OutOfRange(f"tax of {share}", "it must be a share from 0 to 1", "Write 20 % in the workshop's file")
    kept = [[each.words, each.count, str(each.each)] for each in lines]
    row = Invoice(
        commission=commission, key=key[:40], day=day, to=terms.to.strip()[:400], lines=kept, currency=terms.currency,
        tax_share=share, tax_words=terms.tax_words[:120], sender=terms.sender[:420],
        tax_number=terms.tax_number[:60], how_to_pay=terms.how_to_pay[:300], who=by.who[:80], written=by.when,
    )  # fmt: skip
    return _keep(row)


def void(invoice: Invoice, key: str, why: str, day: date, by: Signed) -> tuple[Invoice, bool]:
    """The counter entry that takes an invoice back, with a number of its own; and whether it was there already.

    Raises:
        OutOfRange: for a counter entry, or an invoice that was voided before.
        Unreadable: without a reason.
    """
    if not why.strip():
        raise Unreadable("a void without a reason", "in a year nobody will know why", "Write a word or two")
    if invoice.counters is not None:
        raise OutOfRange(str(invoice), "it is a counter entry itself", "Write a new invoice")
    done = Invoice.objects.filter(counters=invoice).first()
    if done is not None:
        if done.key == key[:40]:
            return done, True
        raise OutOfRange(str(invoice), f"invoice {done.number} has voided it already", "Write a new invoice")
    kept = [[words, -count, each] for words, count, each in invoice.lines]
    row = Invoice(
        commission=invoice.commission, key=key[:40], counters=invoice, day=day, to=invoice.to, lines=kept,
        currency=invoice.currency, tax_share=invoice.tax_share, tax_words=invoice.tax_words,
        sender=invoice.sender, tax_number=invoice.tax_number, how_to_pay=invoice.how_to_pay, why=why.strip()[:200],
        who=by.who[:80], written=by.when,
    )  # fmt: skip
    return _keep(row)


def _keep(row: Invoice) -> tuple[Invoice, bool]:
    """The number is given in the same transaction in which the invoice is kept: what fails takes none."""
    if not row.key:
        raise Unreadable("an invoice without its key", "the page did not send it", "Load the page again")
    with transaction.atomic():
        # Every writer passes this lock, so that two windows never look at the same last number.
        list(Commission.objects.select_for_update().filter(pk=row.commission_id))
        known = Invoice.objects.filter(key=row.key).first()
        if known is not None:
            return known, True
        last = Invoice.objects.order_by("-number").values_list("number", flat=True).first()
        row.number = (last or 0) + 1
        row.save()
    return row, False
