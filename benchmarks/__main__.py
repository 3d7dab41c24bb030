"""Run every benchmark, or those named, and write their tables into docs/benchmarks.md: `python start.py bench [NAME …]`."""

from __future__ import annotations

import importlib
import os
import platform
import sys
from pathlib import Path

HERE = Path(__file__).parent
PAGE = HERE.parent / "docs" / "benchmarks.md"


def table(rows: list[dict[str, str]]) -> str:
    """Rows of words as a Markdown table."""
    if not rows:
        return "(no rows)\n"
    head = list(rows[0])
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(row.get(name, "") for name in head) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def head() -> str:
    """The page's first lines, which say where it was last run."""
    return (
        "# Benchmarks\n\nMade by `python start.py bench`. Each question is answered as a ratio against a named reference.\n"
        f"Last run: Python {platform.python_version()}, {platform.system()}, {os.cpu_count()} cores. Where the machine was "
        "shared with other work, times are upper sides.\n"
    )


def parts_of(page: str) -> dict[str, str]:
    """The parts of a page by their questions."""
    found = page.split("\n## ")[1:]
    return {part.partition("\n")[0]: f"## {part.rstrip()}\n" for part in found}


def main(wanted: list[str]) -> int:
    """Run all, or those named; each writes its own part of the page as soon as it is done, the rest stays as it was."""
    names = sorted(place.stem for place in HERE.glob("*.py") if not place.stem.startswith("__"))
    strange = set(wanted) - set(names)
    if strange:
        print(f"No such benchmark: {', '.join(sorted(strange))}. There are: {', '.join(names)}.")
        return 1
    benches = {name: importlib.import_module(f"benchmarks.{name}") for name in names}
    kept = parts_of(PAGE.read_text(encoding="utf-8")) if PAGE.is_file() else {}
    for name in wanted or names:
        print(f"{name} …", flush=True)
        bench = benches[name]
        part = f"## {bench.QUESTION}\n\nReference: {bench.REFERENCE}\n\n{table(bench.run())}"
        print(part, flush=True)
        kept[bench.QUESTION] = part
        parts = [kept[each.QUESTION] for each in benches.values() if each.QUESTION in kept]
        PAGE.write_text("\n".join([head(), *parts]), encoding="utf-8")
    print(f"Written to {PAGE.relative_to(HERE.parent)}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
