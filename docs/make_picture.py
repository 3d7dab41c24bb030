"""Make docs/picture.png: three sheets of the invented commission, set side by side by the project's own typesetter.

.venv/bin/python docs/make_picture.py
"""

from __future__ import annotations

import tempfile
from datetime import date
from importlib.resources import files
from pathlib import Path

TODAY = date(2026, 11, 25)
SHEETS = ("01-job-summary.pdf", "throw-handled-cup.pdf", "gauge-handled-cup.pdf", "firing-cards.pdf")
PAGE = """
#set page(width: {width}mm, height: 158mm, margin: 6mm, fill: rgb("#e7e1d4"))
#grid(columns: {count}, column-gutter: 5mm, {images})
"""


def main() -> None:
    """Plan the demo as if on a fixed day, and lay its sheets out."""
    import typst

    from wareboard.plan import compile
    from wareboard.plan.reading import read_brief
    from wareboard.plan.workshop import Workshop
    from wareboard.sheets.dossier import write

    text = files("wareboard.commands").joinpath("demo.toml").read_text(encoding="utf-8")
    plan = compile(read_brief(text, today=TODAY), Workshop(today=TODAY))
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "dossier"
        write(plan, place)
        images = ", ".join(f'box(fill: white, image("dossier/{name}", page: 1, width: 103mm))' for name in SHEETS)
        sheet = Path(folder) / "picture.typ"
        sheet.write_text(
            PAGE.format(width=12 + 103 * len(SHEETS) + 5 * (len(SHEETS) - 1), count=len(SHEETS), images=images),
            encoding="utf-8",
        )
        made = typst.compile(str(sheet), root=folder, format="png", ppi=110)
        assert isinstance(made, bytes)
        (Path(__file__).parent / "picture.png").write_bytes(made)


if __name__ == "__main__":
    main()
