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
