"""Changing a TOML text field by field, keeping all that the writer typed: order, remarks, "5 1/2 in" as it stands.

A field is a path such as ``("forms", 0, "height")``. What is shown for it is its text as written; a field whose text is
left as it was is not touched.
"""

from __future__ import annotations

import copy
import re
import tomllib
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import tomlkit
from tomlkit.items import AoT, Array, InlineTable

from wareboard.errors import Unreadable

Path = tuple[str | int, ...]
LINE = re.compile(r"^\s*(.+?)\s*[:=\s]\s*([\d.,/]+\s*%?\s*(?:min|h|s)?)\s*$")


class PaperText:
    """A TOML text whose fields can be read and changed."""

    def __init__(self, text: str) -> None:
        """Raises `Unreadable` where the text is not TOML."""
        try:
            self.plain: dict[str, Any] = tomllib.loads(text)
            self._document = tomlkit.parse(text)
        except (tomllib.TOMLDecodeError, tomlkit.exceptions.TOMLKitError, RecursionError, ValueError) as problem:
            raise Unreadable("the text is not TOML", str(problem), "Mend it on the plain text page") from None
        self._before = text

    def text(self) -> str:
        """The text with its changes.

        Raises:
            Unreadable: if the text is laid out so that the changes would not read back as what was meant.
        """
        written = tomlkit.dumps(self._document)
        try:
            if tomllib.loads(written) == self.plain:
                return written
        except tomllib.TOMLDecodeError:
            pass
        raise Unreadable(
            "this text is laid out in a way that the fields cannot change",
            "the change would not read back as it was typed",
            "Make the change on the plain text page",
        )

    def shown(self, path: Path) -> str:
        """The text of a field, empty where it is not there."""
        return shown_value(_at(self.plain, path))

    def put(self, path: Path, written: str, kind: str = "words") -> None:
        """Write a field, unless it already shows that text; empty takes it out."""
        written = written.strip()
        if written == self.shown(path).strip():
            return
        if not written:
            self._take_out(path)
            return
        value = value_of(written, kind)
        for root in (self.plain, self._document):
            holder = _made(root, path[:-1])
            holder[path[-1]] = tomlkit.item(value) if root is self._document else _plain(value)

    def put_rows(self, path: Path, rows: Sequence[Mapping[str, str]]) -> None:
        """Write an array of small tables, such as measured bars, unless it shows the same rows already."""
        full = [{key: text.strip() for key, text in row.items() if text.strip()} for row in rows]
        full = [row for row in full if set(row) - {"direction"}]
        there = [{key: shown_value(value) for key, value in row.items()} for row in _at(self.plain, path) or []]
        if full == there:
            return
        if not full:
            self._take_out(path)
            return
        array = tomlkit.array()
        for row in full:
            table = tomlkit.inline_table()
            table.update(row)
            array.append(table)
        _made(self.plain, path[:-1])[path[-1]] = [dict(row) for row in full]
        holder = _made(self._document, path[:-1])
        if isinstance(holder.get(path[-1]), AoT):
            del holder[path[-1]]  # tables under a heading of their own give way to one array
        holder[path[-1]] = array.multiline(len(full) > 1)

    def put_pairs(self, path: Path, pairs: Sequence[tuple[float, float]], remark: str = "") -> None:
        """Write an array of pairs of figures, such as a profile, to a tenth, with a remark behind it."""
        rounded = [[round(one, 1), round(other, 1)] for one, other in pairs]
        array = tomlkit.item(rounded)
        holder = _made(self._document, path[:-1])
        if remark and not isinstance(holder, InlineTable):  # a table on one line has no room for a remark
            array.comment(remark)
        holder[path[-1]] = array
        _made(self.plain, path[:-1])[path[-1]] = rounded

    def put_amounts(self, path: Path, written: str) -> None:
        """Write a table of names and amounts from lines such as "silica 30", unless it shows the same lines already.

        Raises:
            Unreadable: naming the line that is no name and amount.
        """
        if _lines(written) == _lines(self.shown(path)):
            return
        table = tomlkit.inline_table()
        for line in _lines(written):
            found = LINE.match(line)
            if found is None:
                raise Unreadable(repr(line), "it is no name with an amount after it", "Write lines such as: silica 30")
            table[found[1].strip("\"' ")] = value_of(found[2].strip(), "number")
        if not table:
            self._take_out(path)
            return
        _made(self.plain, path[:-1])[path[-1]] = table.unwrap()
        _made(self._document, path[:-1])[path[-1]] = table

    def add(self, key: str, fields: Mapping[str, Any]) -> int:
        """Add a table to the array ``key`` and hand back its number, from 0."""
        self.plain.setdefault(key, []).append(dict(fields))
        there = self._document.get(key)
        if there is None or (isinstance(there, Array) and not there):
            if there is not None:
                del self._document[key]
            there = tomlkit.aot()
            self._document.append(key, there)
        table: Any = tomlkit.table() if isinstance(there, AoT) else tomlkit.inline_table()
        table.update(fields)
        there.append(table)
        return len(self.plain[key]) - 1

    def take_away(self, key: str, number: int) -> None:
        """Take a table out of the array ``key``."""
        del self.plain[key][number]
        del self._document[key][number]
        if not self.plain[key]:
            self._take_out((key,))

    def _take_out(self, path: Path) -> None:
        for root in (self.plain, self._document):
            holder = _at(root, path[:-1])
            if holder is not None and path[-1] in holder:
                del holder[path[-1]]


def _at(root: Any, path: Path) -> Any:
    for part in path:
        try:
            root = root[part]
        except (KeyError, IndexError, TypeError):
            return None
    return root


def _made(root: Any, path: Path) -> Any:
    """The table at ``path``, made where it is not there; inside a one-line table a one-line table."""
    for part in path:
        if isinstance(part, str) and part not in root:
            if not hasattr(root, "unwrap"):
                root[part] = {}
            else:
                root[part] = tomlkit.inline_table() if isinstance(root, InlineTable) else tomlkit.table()
        root = root[part]
    return root


def _plain(value: Any) -> Any:
    return copy.deepcopy(value.unwrap() if hasattr(value, "unwrap") else value)


def _lines(text: str) -> list[str]:
    return [" ".join(line.split()) for line in text.splitlines() if line.strip()]


def shown_value(value: Any) -> str:
    """A TOML value as the text of a box."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return "\n".join(f"{name} {shown_value(amount)}" for name, amount in value.items())
    if isinstance(value, list | tuple):
        return ", ".join(shown_value(part) for part in value)
    return str(value)


def value_of(written: str, kind: str) -> Any:
    """The TOML value for what was typed. What does not fit its kind stays as words, for the brief to refuse by name."""
    if kind == "flag":
        return written == "yes"
    if kind == "names":
        return [name.strip() for name in written.split(",") if name.strip()]
    if kind == "day":
        try:
            return date.fromisoformat(written)
        except ValueError:
            return written
    if kind == "count" and re.fullmatch(r"0|[1-9]\d{0,8}", written):
        return int(written)
    if kind == "number" and re.fullmatch(r"(0|[1-9]\d{0,8})(\.\d+)?", written):
        return tomlkit.value(written)
    return written
