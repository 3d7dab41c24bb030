"""What each person may open. A page that is not named here is the potter's alone."""

from __future__ import annotations

from wareboard.book.people.models import HELPER, POTTER, READER

# Open to anybody in the network: how to trust the certificate, and the ways in.
OPEN = frozenset({"trust", "trust-certificate", "sign-in", "join", "bench-worker", "bench-manifest"})
# Whoever is signed in, whatever the role.
EVERYBODY = frozenset({"sign-out", "choose-look", "own-password"})
POTTERS = frozenset(
    {"phones", "add-person", "invite", "change-person", "sign-out-phone", "ask-here", "download-backup"}
)
# Pages that write out a brief or a client's name: a reader looks at the work, not at whose it is.
NAME_CLIENTS = frozenset(
    {
        "edit",
        "edit-text",
        "export",
        "history",
        "one-version",
        "trace-csv",
        "match",
        "order-again",
        "made-as",
        "approval",
        "delivery-note",
        "invoices",
        "invoice",
        "invoice-paper",
    }
)
READS = frozenset({"GET", "HEAD", "OPTIONS"})
# A reader sees what things cost; whose they are is the potter's alone. A helper sees neither.
SEE_PRICES = frozenset({POTTER, READER})
SEE_CLIENTS = frozenset({POTTER})
# Files of a dossier that write out the client's name, and those that write out what things cost.
SHEETS_WITH_CLIENT = frozenset({"01-job-summary.pdf", "quote.pdf", "approval.pdf", "brief.toml"})
SHEETS_WITH_PRICE = SHEETS_WITH_CLIENT | {"figures.json", "figures.csv", "firing-cards.pdf"}


def may(role: str, page: str, method: str) -> bool:
    """Whether somebody of this role may ask for a page, by its name among the addresses, in this way.

    An empty name is an address where nothing stands; whoever is signed in may be told so.
    """
    if page in OPEN or page in EVERYBODY or role == POTTER:
        return True
    if page in POTTERS:
        return False
    if role == HELPER:
        return page == "" or page.startswith("bench")
    return role == READER and method in READS and page not in NAME_CLIENTS


def may_see_price(role: str) -> bool:
    """Whether somebody of this role may see what things cost."""
    return role in SEE_PRICES


def may_see_client(role: str) -> bool:
    """Whether somebody of this role may see for whom a commission is."""
    return role in SEE_CLIENTS


def may_have_sheet(role: str, name: str) -> bool:
    """Whether somebody of this role may open a file of a dossier, by its name in it."""
    if name in SHEETS_WITH_CLIENT and not may_see_client(role):
        return False
    return name not in SHEETS_WITH_PRICE or may_see_price(role)
