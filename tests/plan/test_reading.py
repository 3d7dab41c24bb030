"""A brief is read whole or refused with everything that is wrong in it, by name, with its line and its mend."""

import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.errors import Problems
from wareboard.plan.brief import Brief
from wareboard.plan.reading import line_of_each_key, read_brief, read_workshop, to_toml

TODAY = date(2026, 11, 25)
LEAST = """
due = 2027-02-12
[clay]
shrinkage = "12 %"
[[forms]]
count = 24
height = "95 mm"
"""
TEN_MISTAKES = """
due = 2020-01-01
chance = "150 %"
[clay]
shrinkage = "300 %"
[[forms]]
name = "cup"
count = 0
height = "nan mm"
[[forms]]
name = "plate"
count = 1000000000
rim = "900 mm"
heigth = "🏺"
[[glazes]]
name = "White"
forms = "mug"
[firing]
glaze_cone = "cone 99"
"""


def problems_of(text: str) -> list[str]:
    with pytest.raises(Problems) as caught:
        read_brief(text, today=TODAY)
    return [str(problem) for problem in caught.value.problems]


def test_four_things_are_enough() -> None:
    brief = read_brief(LEAST, today=TODAY)
    assert (brief.forms[0].height, brief.clay.shrinkage, brief.forms[0].count, brief.due) == (
        95,
        0.12,
        24,
        date(2027, 2, 12),
    )


def test_ten_mistakes_are_told_at_once_each_with_its_line() -> None:
    told = problems_of(TEN_MISTAKES)
    for line, word in [
        (2, "past"),
        (3, "150 %"),
        (5, "300 %"),
        (8, "nothing to make"),
        (9, "nan mm"),
        (12, "10000"),
        (13, "900"),
        (14, "height"),
        (17, "cup"),
        (19, "99"),
    ]:
        assert any(word in problem and f"line {line}" in problem for problem in told), (line, word, told)


def test_a_misspelt_field_is_guessed() -> None:
    assert any("Write 'height', if that is meant" in problem for problem in problems_of(TEN_MISTAKES))


@pytest.mark.parametrize(
    "missing", ["due = 2027-02-12\n", '[clay]\nshrinkage = "12 %"\n', "count = 24\n", 'height = "95 mm"\n']
)
def test_each_of_the_four_is_asked_for_by_name(missing: str) -> None:
    told = " ".join(problems_of(LEAST.replace(missing, "")))
    assert any(word in told for word in ("due", "clay", "count", "fired size"))


@pytest.mark.parametrize("text", ["due = ", "[[[", "due = 2027-02-12\ndue = 2027-02-13", "\x00", "🏺"])
def test_what_is_no_toml_is_said_so_with_its_line(text: str) -> None:
    assert "not TOML" in problems_of(text)[0]


def test_a_brief_written_out_reads_back_the_same() -> None:
    brief = read_brief(
        LEAST + '[[kilns]]\nname = "Round one"\npower_kw = 9\n[prices]\nwage_per_hour = "18.50"\n', today=TODAY
    )
    assert read_brief(to_toml(brief), today=TODAY) == brief


@given(
    st.integers(1, 10_000),
    st.floats(5, 500).map(lambda mm: round(mm, 1)),
    st.floats(0.01, 0.2).map(lambda s: round(s, 4)),
    st.text(max_size=30),
)
def test_any_brief_survives_the_round_trip(count: int, height: float, shrinkage: float, title: str) -> None:
    brief = Brief.model_validate(
        {
            "due": "2027-02-12",
            "title": title,
            "clay": {"shrinkage": shrinkage},
            "forms": [{"count": count, "height": height}],
        }
    )
    assert read_brief(to_toml(brief), today=TODAY) == brief


def test_keys_know_their_lines_in_tables_of_tables() -> None:
    lines = line_of_each_key("a = 1\n[[forms]]\ncount = 2\n[[forms]]\ncount = 3\n[forms.handle]\ngap = 4\n")
    assert lines[("forms", 0, "count")] == 3
    assert lines[("forms", 1, "count")] == 5
    assert lines[("forms", 1, "handle", "gap")] == 7


def test_prototypes_that_grew_are_refused() -> None:
    told = problems_of(LEAST + '[[forms.measured]]\nwet = "88 mm"\nfired = "100 mm"\n')
    assert any("swapped" in problem for problem in told)


def test_a_workshop_is_read_and_its_slips_told() -> None:
    shop = read_workshop('name = "Ours"\n[[kilns]]\nname = "Old"\nshelf_diameter = "21 in"\n', today=TODAY)
    assert shop.kilns[0].shelf_diameter == pytest.approx(533.4)
    assert shop.today == TODAY
    with pytest.raises(Problems, match="hours_per_day"):
        read_workshop('[[people]]\nname = "A"\nhours_per_day = "40 h"\n')


def test_a_bag_in_pounds_survives_being_written_out() -> None:
    brief = read_brief(LEAST.replace("[clay]\n", '[clay]\nbag = "25 lb"\n'), today=TODAY)
    assert read_brief(to_toml(brief), today=TODAY).clay.bag == pytest.approx(11339.80925, abs=1e-5)


@pytest.mark.parametrize("names", [("Jar", "jar!"), ("cup", "cup"), ("🏺", "bowl")])
def test_forms_that_would_share_a_key_are_told_apart(names: tuple[str, str]) -> None:
    text = LEAST.replace("count = 24", f'name = "{names[0]}"\ncount = 24')
    told = problems_of(text + f'[[forms]]\nname = "{names[1]}"\ncount = 2\nheight = "9 cm"\n')
    assert any("name of its own" in problem for problem in told)


@pytest.mark.parametrize("start", ["2027-03-01T10:00:00", "2027-03-01T10:00:00Z", '"2027-03-01"', "2027-03-01"])
def test_a_start_after_the_due_date_is_refused_however_it_is_written(start: str) -> None:
    (problem,) = problems_of(f"start = {start}\n" + LEAST)
    assert "work would start after it is due" in problem


def test_a_start_with_a_time_of_day_is_that_day() -> None:
    assert read_brief("start = 2027-01-04T10:00:00Z\n" + LEAST, today=TODAY).start == date(2027, 1, 4)


@pytest.mark.parametrize("forms", ["5", "true", "nan", "[[1]]", "{ a = 1 }"])
def test_glazes_on_forms_that_are_no_names_are_refused_in_words(forms: str) -> None:
    for problem in problems_of(LEAST + f'[[glazes]]\nname = "White"\nforms = {forms}\n'):
        assert "it is not words" in problem


@pytest.mark.parametrize(
    "text",
    [
        'due = 2027-02-12\nclay = "12 %"\nforms = 3\n',
        "due = 10:00:00\nforms = [1, 2]\nclay = [1]\n",
        LEAST.replace("count = 24", "count = 24\nmarks = -1"),
        LEAST + "profile = [[0, 50, 1], [90, 80, 1]]\n",
        LEAST + 'profile = "round"\n',
        "a = " + "[" * 3000 + "]" * 3000,
        LEAST + "rim = " + "[" * 300 + "]" * 300,
        LEAST.replace("count = 24", "count = " + "9" * 5000),
        LEAST.replace("shrinkage", "invented = 3\nshrinkage"),
    ],
)
def test_no_word_of_the_machine_gets_into_what_is_said(text: str) -> None:
    for problem in problems_of(text):
        assert not re.search(r"datetime|dictionary|tuple|instance|input should|recursion|sys\.|True|False", problem), (
            problem
        )


@pytest.mark.parametrize(("table", "word"), [("good", "dried"), ("minutes", "throw")])
def test_a_misspelt_stage_or_task_is_not_passed_over(table: str, word: str) -> None:
    (problem,) = problems_of(LEAST + f"[forms.{table}]\n{word}x = 0.5\n")
    assert f"Write {word}, if that is meant" in problem
    assert "line 9" in problem
    with pytest.raises(Problems, match="pouring"):
        read_workshop('[own.good]\n"plate.dried" = "97 %"\n"jug.pouring" = "9 %"\n')


def test_a_share_past_all_sense_is_not_offered_back_as_a_mend() -> None:
    (problem,) = problems_of(LEAST.replace('"12 %"', "300"))
    assert "such as 12 %" in problem


def test_two_clays_are_told_what_to_do() -> None:
    two = LEAST.replace("[clay]\n", '[[clay]]\nname = "white"\nshrinkage = "11 %"\n[[clay]]\n')
    told = problems_of(two)
    assert any("2 clays" in line and "one brief for each clay" in line for line in told)


@pytest.mark.parametrize("typed", ["8", "4 1/2", "about 8", "3½", "4,5"])
def test_a_size_without_a_unit_is_asked_about_where_inches_are_shown(typed: str) -> None:
    """Bare figures are mm; in a brief that is thought of in inches that would make a bowl of 8 mm."""
    inches = 'show_lengths = "in"\n' + LEAST.replace('height = "95 mm"', f'height = "{typed}"')
    told = problems_of(inches)
    assert any("names no unit" in line and f"Write {typed} in, or {typed} mm" in line for line in told)
    assert not any("names no unit" in line for line in _told_or_nothing(inches.replace(f'"{typed}"', f'"{typed} in"')))
    plain = LEAST.replace('height = "95 mm"', 'height = "95"')
    assert read_brief(plain, today=TODAY).forms[0].height == 95.0


def _told_or_nothing(text: str) -> list[str]:
    try:
        read_brief(text, today=TODAY)
    except Problems as problem:
        return [str(each) for each in problem.problems]
    return []
