"""The drying commands as a person calls them; the numbers are checked where they are worked out."""

from __future__ import annotations

import pytest
from click.testing import CliRunner, Result

from wareboard.clay.air import Air
from wareboard.clay.damp_piece import Spell, straight_piece
from wareboard.clay.ready import drying
from wareboard.commands.drying import dry_enough_command, drying_command
from wareboard.errors import OutOfRange, Unreadable

CUP = ["--width", "90 mm", "--height", "105 mm"]


def run(*words: str) -> Result:
    return CliRunner().invoke(drying_command, list(words), catch_exceptions=False)


def test_sizes_and_the_room_give_leather_hard_and_dry_with_ranges() -> None:
    said = run(*CUP, "--humidity", "50 %").output
    found = drying(straight_piece(90, 105, 5, 6, 0.265), [Spell(Air(20, 0.5))])
    hours, dry = found.leather_hard_from_h, found.bone_dry_h
    assert f"leather-hard from {hours.value:.0f} h ({hours.low:.0f} to {hours.high:.0f})" in said
    assert f"bone dry after {dry.value / 24:.1f} days ({dry.low / 24:.1f} to {dry.high / 24:.1f})" in said
    assert "wall: leather-hard" in said
    assert "steam" in said
    assert " = " not in said


def test_the_working_is_printed_when_asked_for() -> None:
    assert "loss_kg_per_m2_h * cover * rate_factor * area_mm2 / 1000 / dry_g" in run(*CUP, "--working").output


def test_inches_and_fahrenheit_are_read_too() -> None:
    """3.5 in is 88.9 mm and 68 F is 20 C."""
    assert (
        run("--width", "3.5 in", "--height", "4 in", "--room", "68 F").output
        == run("--width", "88.9 mm", "--height", "101.6 mm", "--room", "20 C").output
    )


def test_a_weight_alone_will_do_and_weighings_narrow_the_answer() -> None:
    plain = run("--weight", "335 g").output
    taught = run(
        "--weight", "335 g", "--weighed", "12 h = 304 g", "--weighed", "30 h = 278 g", "--scale", "0.2 g"
    ).output
    assert "bone dry after" in plain
    assert "fit one course" in taught
    assert plain != taught


def test_spells_follow_one_another() -> None:
    slow = run(*CUP, "--spell", "8 h open", "--spell", "24 h tight", "--spell", "open upturned").output
    assert "bone dry after" in slow
    assert slow != run(*CUP).output


def test_a_handle_gets_its_window() -> None:
    said = run(*CUP, "--handle", "160 x 22 x 8 mm", "--handle-after", "2 h", "--working").output
    assert "join the handle from" in said
    assert "join the handle until" in said
    assert "pull the handles after the cup by" in said


@pytest.mark.parametrize(
    ("words", "error", "match"),
    [
        ([], Unreadable, "--width and --height"),
        ([*CUP, "--cover", "box"], OutOfRange, "open, light, tight"),
        ([*CUP, "--handle", "160 mm"], Unreadable, "160 x 22 x 8"),
        ([*CUP, "--weighed", "318 g"], Unreadable, "12 h = 318 g"),
        ([*CUP, "--humidity", "100 %"], OutOfRange, "does not dry"),
    ],
)
def test_what_cannot_be_read_says_how_to_write_it(words: list[str], error: type[Exception], match: str) -> None:
    with pytest.raises(error, match=match):
        run(*words)


def enough(*words: str) -> str:
    return CliRunner().invoke(dry_enough_command, list(words), catch_exceptions=False).output


def test_two_weights_a_day_apart_say_dry_or_damp() -> None:
    """Less than 0.5 % in 24 h: common practice."""
    assert enough("1000 g", "998 g").startswith("Dry enough")
    damp = enough("1000 g", "980 g")
    assert damp.startswith("Still damp")
    assert "steam" in damp
    assert "lost in 24 h" in damp


def test_three_weights_say_how_long_still() -> None:
    """400, 380, 370 g a day apart: it halves daily and runs to 360 g; by hand."""
    said = enough("400 g", "380 g", "370 g")
    assert "It runs to about 360 g" in said


def test_one_weight_against_a_known_dry_weight() -> None:
    assert enough("310 g", "--dry", "292 g").startswith("Still damp")
    with pytest.raises(Unreadable, match="--dry"):
        enough("310 g")
