"""The invented commission's own pictures: marked as invented, the same each time, and good for mark and painting."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.studio.conftest import demo_text as demo_text
from wareboard.book import keeping
from wareboard.book.prototypes import pictures, tiles
from wareboard.commands import demo_pictures
from wareboard.paint.tile_file import read_tiles
from wareboard.studio import plans
from wareboard.studio.briefs_folder import keep_pictures
from wareboard.studio.prototypes.art_pages import found_of
from wareboard.studio.today import now


def test_each_picture_says_that_it_is_invented() -> None:
    assert b"Invented example" in demo_pictures.heron_svg()
    assert "Invented example" in Image.open(io.BytesIO(demo_pictures.reed_bed_png())).info["Description"]
    assert all(tile.note == "invented example" for tile in read_tiles(demo_pictures.tiles_csv()))


def test_the_artwork_meets_itself_and_is_the_same_each_time() -> None:
    rgb = np.asarray(Image.open(io.BytesIO(demo_pictures.reed_bed_png())))
    assert np.mean(np.any(rgb[:, 0] != rgb[:, -1], axis=1)) < 0.02
    assert demo_pictures.reed_bed_png() == demo_pictures.reed_bed_png()


def test_files_that_stand_there_already_are_left(tmp_path: Path) -> None:
    (tmp_path / "heron.svg").write_text("mine")
    demo_pictures.write(tmp_path)
    assert (tmp_path / "heron.svg").read_text() == "mine"
    assert (tmp_path / "reed-bed.png").read_bytes() == demo_pictures.reed_bed_png()


@pytest.mark.django_db
def test_mark_and_painting_that_the_demo_names_come_out_with_every_colour(demo_text: str, tmp_path: Path) -> None:
    commission = keeping.new_commission(demo_text, "Demo", why="Begun", who="", when=now())
    demo_pictures.write(tmp_path / "pictures")
    keep_pictures(commission, demo_text, tmp_path)
    assert commission.paper.current is not None
    plan = plans.plan_of_version(commission.paper.current, plans.basis())
    for kind in ("mark", "painting"):
        held = pictures.all_of(commission, kind)[0]
        found = found_of(plan, held)
        assert found.made is not None, found.trouble
    assert len(tiles.tiles_now()) == 6
    coats = {coat.glaze for coat in found.made.order.coats}
    assert coats == {"White ground", "Reed green", "Reed brown", "Water blue", "Heron grey"}


@pytest.mark.django_db
def test_a_picture_that_is_not_there_is_told_in_the_log_and_the_commission_stays(
    demo_text: str, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    commission = keeping.new_commission(demo_text, "Demo", why="Begun", who="", when=now())
    demo_pictures.write(tmp_path / "pictures")
    (tmp_path / "pictures" / "tiles.csv").unlink()
    keep_pictures(commission, demo_text, tmp_path)
    assert "there is no such file" in caplog.text
    assert not pictures.all_of(commission)  # all or nothing
    assert not tiles.tiles_now()
