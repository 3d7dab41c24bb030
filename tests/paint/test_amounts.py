"""Areas on the wall against closed forms, and glaze by hand and by Brongniart's formula as printed elsewhere."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.clay.working import meets_its_working
from tests.paint.invented_tiles import BODY, TILES, tile
from wareboard.errors import OutOfRange
from wareboard.paint.amounts import amounts, dry_g_per_ml, laid_on_by_jar, usual_brushed
from wareboard.paint.coats import coats_needed
from wareboard.paint.laying import lay

CYLINDER = [(0.0, 40.0), (90.0, 40.0)]


def test_a_cylinder_is_covered_whole() -> None:
    """2 pi r h."""
    found = lay(CYLINDER, (30, 84), repeats=1)
    assert found.areas_mm2(np.zeros((30, 84), dtype=np.int32)) == pytest.approx([2 * math.pi * 40 * 90], rel=1e-12)
    assert found.row_mm == pytest.approx(3.0)
    assert found.scale_mm == pytest.approx(2 * math.pi * 40 / 84)
    assert found.joined


def test_a_cone_and_a_half_of_it_are_covered_whole() -> None:
    """Frustum: pi (r1 + r2) slant; its upper half of slant runs from the mean radius to the rim."""
    found = lay([(0.0, 30.0), (80.0, 60.0)], (40, 100), repeats=1)
    slant = math.hypot(80, 30)
    labels = np.zeros((40, 100), dtype=np.int32)
    labels[20:] = 1
    upper, lower = found.areas_mm2(labels)
    assert upper + lower == pytest.approx(math.pi * 90 * slant, rel=1e-12)
    assert upper == pytest.approx(math.pi * (45 + 60) * slant / 2, rel=1e-12)


def test_a_ball_is_covered_whole() -> None:
    """Archimedes: a zone of a sphere is 2 pi R h, whatever its place; the line has 400 straight pieces."""
    angle = np.linspace(-1.1, 1.2, 401)
    wall = np.column_stack([50 * np.sin(angle), 50 * np.cos(angle)])
    found = lay(wall, (77, 50), repeats=2)
    area = found.areas_mm2(np.zeros((77, 50), dtype=np.int32))[0]
    assert area == pytest.approx(2 * math.pi * 50 * 50 * (math.sin(1.2) + math.sin(1.1)), rel=1e-5)


def test_bands_left_free_and_repeats_take_their_share() -> None:
    """Half of a cylinder's height and three copies of a quarter turn each: by hand."""
    found = lay(CYLINDER, (20, 20), off_foot_mm=30, off_rim_mm=15, repeats=3, turn_share=0.25)
    assert found.areas_mm2(np.zeros((20, 20), dtype=np.int32))[0] == pytest.approx(0.75 * 2 * math.pi * 40 * 45)
    assert not found.joined
    assert found.heights_mm[0] == pytest.approx(75 - 45 / 40)
    assert found.heights_mm[-1] == pytest.approx(30 + 45 / 40)


def test_repeats_are_chosen_so_that_the_artwork_is_stretched_least() -> None:
    """A square artwork 90 mm high on 251 mm round: three copies of 84 mm, 0.93 of its width."""
    found = lay(CYLINDER, (100, 100))
    assert found.repeats == 3
    assert found.stretch == pytest.approx(2 * math.pi * 40 / 3 / 90)
    assert not found.notes
    assert any("wider" in note for note in lay(CYLINDER, (100, 100), repeats=1).notes)
    assert any("as far round" in note for note in lay([(0, 20), (80, 60)], (10, 30)).notes)


def test_a_plate_is_laid_from_its_middle_to_its_rim() -> None:
    """A flat disc: pi R2."""
    found = lay([(0.0, 0.0), (0.0, 120.0)], (60, 300), repeats=1, off_foot_mm=20)
    area = found.areas_mm2(np.zeros((60, 300), dtype=np.int32))[0]
    assert area == pytest.approx(math.pi * (120**2 - 20**2), rel=1e-12)


@pytest.mark.parametrize(
    ("wall", "more", "words"),
    [
        ([(0, 40)], {}, "two or more"),
        ([(0, -1), (90, 40)], {}, "below 0"),
        ([(0, 40), (0, 40)], {}, "the same"),
        (CYLINDER, {"off_foot_mm": 60, "off_rim_mm": 40}, "Leave less"),
        (CYLINDER, {"repeats": 0}, "from 1 up"),
        (CYLINDER, {"turn_share": 1.5}, "up to 1"),
        (CYLINDER, {"repeats": 3, "turn_share": 0.5}, "overlap"),
        (CYLINDER, {"off_foot_mm": -1.0}, "band"),
    ],
)
def test_what_cannot_be_laid_is_refused(wall: object, more: dict[str, float], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        lay(wall, (10, 10), **more)  # type: ignore[arg-type]


def test_three_coats_lay_the_slip_that_a_dip_does() -> None:
    """0.053 g/cm2 at a specific gravity of 1.50 is 0.065 ml/cm2, worked out elsewhere from the same formula by hand."""
    two = [tile("ground", (80, 0, 0)), tile("blue", (34, 8, -40))]
    found = amounts([10_000.0, 5_000.0], two, coats_needed(two), 24)
    ground, blue = found.coats
    assert ground.dry_g.value == pytest.approx(5.3)
    assert ground.slip_ml.value == pytest.approx(100 * 0.065, abs=0.05)
    assert blue.dry_g.value == pytest.approx(2.65)
    assert ground.dry_g.low == pytest.approx(4.0)
    assert ground.dry_g.high == pytest.approx(9.0)
    meets_its_working(found.steps)


def test_a_coat_beneath_another_is_painted_under_it_too() -> None:
    two = [each for each in TILES if each.name in ("iron red", "celadon over iron red")]
    found = amounts([4_000.0, 1_000.0], two, coats_needed(two), 10)
    by_glaze = {each.coat.glaze: each for each in found.coats}
    assert by_glaze["iron red"].area_mm2 == 5_000.0
    assert by_glaze["celadon"].area_mm2 == 1_000.0
    assert by_glaze["celadon"].dry_g.value == pytest.approx(10 * 0.053 * 2 / 3)


def test_the_job_is_pieces_and_loss_and_what_stays_in_the_jar_and_a_reserve() -> None:
    """By hand: 24 pieces of 6.52 ml, a tenth lost, 60 ml left, a quarter over."""
    one = [tile("ground", (80, 0, 0))]
    found = amounts([10_000.0], one, coats_needed(one), 24)
    (job,) = found.job
    piece = 5.3 / 0.8125
    assert job.slip_ml.value == pytest.approx((24 * piece / 0.9 + 60) * 1.25)
    assert job.dry_g.value == pytest.approx(job.slip_ml.value * 0.8125)
    assert job.slip_ml.low < job.slip_ml.value < job.slip_ml.high
    assert found.minutes_piece.value == pytest.approx(9.0)
    assert found.minutes_job.value == pytest.approx(216.0)


def test_accounts_of_decorating_lie_within_the_minutes() -> None:
    """Two accounts: 10 min a plate for two layers; 12 min to decorate a mug, here four small colours (painting-accounts)."""
    plate = [tile("a", (80, 0, 0)), tile("b", (34, 8, -40), coats=2)]
    found = amounts([5_000.0, 3_000.0], plate, coats_needed(plate), 1).minutes_piece
    assert found.low <= 10 <= found.high
    mug = [BODY, *(tile(f"c{k}", (50, k, 0)) for k in range(4))]
    found = amounts([20_000.0, 1_000.0, 800.0, 500.0, 300.0], mug, coats_needed(mug), 1).minutes_piece
    assert found.low <= 12 <= found.high


def test_the_jar_tells_what_was_laid_on() -> None:
    """There and back: paint five pieces by the usual figure, weigh, and find it again."""
    figures = usual_brushed()
    one = [tile("ground", (80, 0, 0))]
    slip = amounts([10_000.0], one, coats_needed(one), 1).coats[0].slip_ml.value
    found = laid_on_by_jar(900.0, 900.0 - 5 * slip * 1.5, 5, 10_000.0, 3, 1.5, 2.6)
    assert found == pytest.approx(figures.full_layer_g_per_cm2.value)
    with pytest.raises(OutOfRange, match="lighter"):
        laid_on_by_jar(900.0, 910.0, 5, 10_000.0, 3, 1.5, 2.6)


def test_brongniart_as_printed() -> None:
    """A litre of slip at 1.45 of powder at 2.6 holds 731 g (the formula, worked by hand: 450 x 2.6 / 1.6)."""
    assert 1000 * dry_g_per_ml(1.45, 2.6) == pytest.approx(731.25)
    with pytest.raises(OutOfRange, match="specific gravity"):
        dry_g_per_ml(0.9, 2.6)


def test_what_cannot_be_is_refused() -> None:
    one = [tile("ground", (80, 0, 0))]
    with pytest.raises(OutOfRange, match="areas"):
        amounts([1.0, 2.0], one, coats_needed(one), 3)
    with pytest.raises(OutOfRange, match="pieces"):
        amounts([1.0], one, coats_needed(one), 0)
