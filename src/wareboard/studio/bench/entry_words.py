"""Entries in words, as the history, the messages and the browser's own list say them."""

from __future__ import annotations

from wareboard.book.boards.models import LET_GO, STANDS, WAITS, Board, Entry


def words_of(entry: Entry) -> str:
    """What an entry did: "2 lost: cracked, rim"."""
    said = _plain(entry)
    if entry.standing == WAITS:
        return f"waits to be settled: {said}"
    if entry.standing == LET_GO:
        return f"settled: {said}"
    return said


def _plain(entry: Entry) -> str:
    count, other = entry.pieces, entry.other.code if entry.other else ""
    match entry.kind:
        case "begin":
            return f"{count} put on the board, {entry.stage_to}"
        case "move":
            return _moved(entry)
        case "split":
            return f"{count} split off{' as ' + other if other else ''}"
        case "merge":
            return f"{count or 'all'} from {other} merged in"
        case "lose":
            return f"{count} lost: {entry.reason}{', ' + entry.place if entry.place else ''}"
        case "gain":
            return f"{count} added{': ' + entry.reason if entry.reason else ''}"
        case "count":
            return f"counted: {count}"
        case "weigh":
            return f"weighed: {round(entry.grams or 0.0, 1):.10g} g"
        case "note":
            return f"noted: {entry.note}"
        case "shelve":
            return f"put on {entry.place}" if entry.place else "taken off its shelf"
        case "undo":
            return f"undone: {_plain(entry.undoes)}" if entry.undoes else "undone"
    return entry.get_kind_display()


def changed_words(entry: Entry, board: Board, before: int, after: int) -> str:
    """What was before an entry and what came of it: "24 to 22 pieces; thrown to trimmed"."""
    said = [f"{before} to {after} pieces"] if before != after else []
    if entry.board_id == board.pk and entry.standing == STANDS:
        if entry.stage_from and entry.stage_from != entry.stage_to:
            said.append(f"{entry.stage_from} to {entry.stage_to}")
        if entry.state_from != entry.state_to:
            said.append(f"{entry.state_from or 'open'} to {entry.state_to or 'open'}")
        if entry.kind == "shelve":
            said.append(f"{entry.before.get('shelf') or 'no shelf'} to {entry.place or 'no shelf'}")
    return "; ".join(said)


def _moved(entry: Entry) -> str:
    if entry.other is not None:
        return f"{entry.pieces} moved on to {entry.other.stage} as {entry.other.code}"
    if entry.stage_from == entry.stage_to and entry.standing != WAITS:
        return f"was at {entry.stage_to} already"
    return f"moved to {entry.stage_to}"
