"""A brief is read whole or refused with everything that is wrong in it, by name, with its line and its mend."""

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
    assert any("Did you mean 'height'" in problem for problem in problems_of(TEN_MISTAKES))


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
