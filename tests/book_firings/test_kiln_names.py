"""A renamed kiln keeps its record; joined records can be parted again, and every number stays as it was written down."""

from __future__ import annotations

from datetime import date

import pytest

from tests.book_firings.conftest import BY, curve_csv, glaze_fields
from tests.book_firings.test_recording import cone_rows
from wareboard.book.firings import kiln_names, reckoning, recording, signing
from wareboard.book.firings.models import Kiln
from wareboard.book.firings.offsets import offsets
from wareboard.errors import OutOfRange


def fire(kiln: Kiln, days: list[int], kwh: float = 60.0) -> None:
    for day in days:
        recording.new_firing(kiln, {**glaze_fields(date(2026, 11, day)), "kwh": kwh}, BY)


def test_a_new_name_without_a_record_is_the_old_record_renamed_and_undone(kiln: Kiln) -> None:
    fire(kiln, [1, 2])
    assert kiln_names.formerly("Round kiln", None, ["Round kiln"]) == [kiln]
    named = kiln_names.join("Round kiln", kiln, BY)
    assert (named.pk, named.name) == (kiln.pk, "Round kiln")
    assert len(reckoning.firings_of(named)) == 2
    assert signing.undo(named, BY).name == "Old round kiln"


def test_two_records_are_one_kiln_and_numbers_stay_as_written(kiln: Kiln) -> None:
    fire(kiln, [1, 2, 3])
    new = recording.kiln_named("Round kiln", BY)
    fire(new, [10, 11])
    joined = kiln_names.join("Round kiln", kiln, BY)
    found = reckoning.firings_of(joined)
    assert [(each.firing.kiln_id, each.firing.number, each.number) for each in found] == [
        (kiln.pk, 1, 1),
        (kiln.pk, 2, 2),
        (kiln.pk, 3, 3),
        (new.pk, 1, 4),
        (new.pk, 2, 5),
    ]
    assert [each.number for each in reckoning.firings_of(joined, 3)] == [3, 4, 5]
    assert kiln_names.formerly("Round kiln", joined, ["Round kiln"]) == []


def test_parts_count_over_the_whole_line(kiln: Kiln) -> None:
    fire(kiln, [1, 2, 3])
    recording.keep_parts(kiln, {"part": "elements", "day": date(2026, 11, 2), "notes": ""}, BY)
    new = recording.kiln_named("Round kiln", BY)
    fire(new, [10, 11])
    joined = kiln_names.join("Round kiln", kiln, BY)
    ages = {each.part: each.firings for each in reckoning.part_ages(joined)}
    assert ages == {"elements": 3, "thermocouple": 5, "relays": 5}


def test_joined_records_are_parted_again_and_are_not_asked_about_twice(kiln: Kiln) -> None:
    fire(kiln, [1])
    new = recording.kiln_named("Round kiln", BY)
    fire(new, [10])
    joined = kiln_names.join("Round kiln", kiln, BY)
    parted = kiln_names.part(joined, BY)
    assert len(reckoning.firings_of(parted)) == 1
    assert kiln_names.formerly("Round kiln", parted, ["Round kiln"]) == []
    again = signing.undo(parted, BY)
    assert len(reckoning.firings_of(again)) == 2
    with pytest.raises(OutOfRange, match="one kiln already"):
        kiln_names.join("Round kiln", kiln, BY)
    with pytest.raises(OutOfRange, match="one kiln already"):
        kiln_names.join("Old round kiln", new, BY)


def test_a_kiln_that_was_said_to_be_another_is_not_asked_about_again(kiln: Kiln) -> None:
    fire(kiln, [1])
    said = kiln_names.say_apart("Round kiln", "round-kiln", [kiln], BY)
    assert kiln_names.formerly("Round kiln", said, ["Round kiln"]) == []


def test_a_kiln_joined_before_it_was_fired_counts_on(kiln: Kiln) -> None:
    fire(kiln, [1, 2])
    recording.kiln_named("Round kiln", BY)
    joined = kiln_names.join("Round kiln", kiln, BY)
    made = recording.new_firing(joined, glaze_fields(), BY)
    assert made.number == 3
    assert [each.number for each in reckoning.firings_of(joined)] == [1, 2, 3]


def test_offsets_are_learned_for_each_thermocouple_and_a_record_left_out_counts_no_more(kiln: Kiln) -> None:
    """A law: two thermocouples 20 °C apart have offsets 20 °C apart, pulled towards none by the same weight."""
    for day in (1, 2, 3, 4):
        made = recording.new_firing(kiln, glaze_fields(date(2026, 11, day)), BY)
        rows = curve_csv().decode().splitlines()
        both = [f"{row},{float(row.split(',')[1]) - 20.0:.1f}" for row in rows[1:]]
        log = "\n".join(["minutes,top °C,bottom °C", *both]) + "\n"
        recording.keep_log(made, log.encode(), "two.csv", {}, BY)
        recording.keep_cones(made, cone_rows(85.0, 85.0), BY)
    found = reckoning.firings_of(kiln)
    top, bottom = offsets(kiln.name, found)
    assert (top.channel, bottom.channel) == ("top °C", "bottom °C")
    seen = [pair[1].seen_c - pair[0].seen_c for pair in zip(top.seen, bottom.seen, strict=True)]  # type: ignore[operator]
    assert seen == pytest.approx([20.0] * 8, abs=1.5)
    assert bottom.levels["top"].c.value > top.levels["top"].c.value + 10.0

    row = found[-1].firing.cones.get(level="top")
    signing.change(row, {"left_out": True}, "Left out", BY)
    without = offsets(kiln.name, reckoning.firings_of(kiln))[0]
    assert (without.levels["top"].firings, without.levels["bottom"].firings) == (3, 4)
    assert [each.why for each in without.seen if each.row.pk == row.pk] == ["left out by hand"]
    assert signing.undo(row, BY).left_out is False

    two = offsets(kiln.name, reckoning.firings_of(kiln), count=2)[0]
    assert two.levels["top"].firings == two.firings == 2
    assert "further back than the 2 firings that count" in {each.why for each in two.seen}
