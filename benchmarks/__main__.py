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


def main(wanted: list[str]) -> int:
    names = sorted(place.stem for place in HERE.glob("*.py") if not place.stem.startswith("__"))
    strange = set(wanted) - set(names)
    if strange:
        print(f"No such benchmark: {', '.join(sorted(strange))}. There are: {', '.join(names)}.")
        return 1
    parts = [
        (
            "# Benchmarks\n\nMade by `python start.py bench`. "
            "Each question is answered as a ratio against a named reference.\n"
            f"Last run: Python {platform.python_version()}, {platform.system()}, {os.cpu_count()} cores.\n"
        )
    ]
    for name in names:
        if wanted and name not in wanted:
            continue
        print(f"{name} …", flush=True)
        bench = importlib.import_module(f"benchmarks.{name}")
        part = f"## {bench.QUESTION}\n\nReference: {bench.REFERENCE}\n\n{table(bench.run())}"
        print(part, flush=True)
        parts.append(part)
    if not wanted:
        PAGE.write_text("\n".join(parts), encoding="utf-8")
        print(f"Written to {PAGE.relative_to(HERE.parent)}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
