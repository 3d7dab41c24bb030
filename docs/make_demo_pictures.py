"""Make the pictures of the invented commission, and a rendered photograph with its true profile beside it.

.venv/bin/python docs/make_demo_pictures.py FOLDER
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

import numpy as np

SEED, SIZE, HEIGHTS = 3, (1280, 960), 41
INVENTED = "Invented example, rendered by Wareboard"


def main(folder: Path) -> None:
    """Write everything into a folder; the same bytes each time."""
    from PIL import Image

    from tests.form.photographs import enlarged, photograph, scene_number, truth_mm
    from wareboard.commands.demo_pictures import write

    write(folder)
    scene = enlarged(scene_number(SEED), SIZE)
    exif = Image.Exif()
    exif[0x010E] = INVENTED  # the field for a description; no place, no time
    Image.fromarray(photograph(scene)).save(folder / "cup-photograph.jpg", "JPEG", quality=90, exif=exif)
    heights = np.linspace(0.0, scene.profile.height_mm, HEIGHTS)
    with (folder / "cup-truth.csv").open("w", newline="", encoding="utf-8") as file:
        rows = csv.writer(file)
        rows.writerow(["height_mm", "radius_mm", "note"])
        for height, radius in zip(heights, truth_mm(scene, heights), strict=True):
            rows.writerow([f"{height:.2f}", f"{radius:.3f}", INVENTED])


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parent.parent))
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "demo-pictures"))
