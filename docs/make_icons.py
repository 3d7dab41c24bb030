"""Draw the icons that a phone puts among its programs, from the studio's own mark. Run it when the mark changes.

python docs/make_icons.py
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

STATIC = Path(__file__).parent.parent / "src/wareboard/studio/static/studio"
# Side in pixels, and the share of it that the mark takes. A maskable icon is cut to a circle of 0.8 of its side.
ICONS = {"icon-192.png": (192, 1.0), "icon-512.png": (512, 1.0), "icon-512-maskable.png": (512, 0.56)}
GROUND = "#f7f4ed"


def drawn(side_px: int, share: float) -> bytes:
    """The mark as a PNG on its own ground."""
    import typst

    mark = re.sub(r"<rect[^>]*/>", "", (STATIC / "mark.svg").read_text(encoding="utf-8")) if share < 1 else ""
    mark = mark or (STATIC / "mark.svg").read_text(encoding="utf-8").replace(' rx="3"', "")
    text = mark.replace("\\", "\\\\").replace('"', '\\"')
    page = (
        f'#set page(width: {side_px}pt, height: {side_px}pt, margin: 0pt, fill: rgb("{GROUND}"))\n'
        f'#align(center + horizon, image(bytes("{text}"), format: "svg", width: {share * 100:g}%))\n'
    )
    made: bytes = typst.compile(page.encode(), format="png", ppi=72)
    return made


if __name__ == "__main__":
    for name, (side_px, share) in ICONS.items():
        (STATIC / name).write_bytes(drawn(side_px, share))
        sys.stdout.write(f"{name}\n")
