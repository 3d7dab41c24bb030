"""Letters that no font has, and marks that mean something to the typesetter, cost no sheet and change no other word."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.sheets.conftest import planned
from tests.sheets.reading_pdf import pages_of, squeezed
from wareboard.sheets.dossier import names_of_forms, write

BRIEF = """
due = 2027-03-01
title = "{title}"
[clay]
shrinkage = "12 %"
[[forms]]
name = "{name}"
count = 4
height = "95 mm"
"""


def text_with(title: str, folder: Path) -> str:
    write(planned(BRIEF.format(title=title, name="Cup")), folder)
    return squeezed(pages_of(folder / "01-job-summary.pdf")[0].text)


@pytest.mark.parametrize("sign", ["\U0001f375", "\U0001f469\u200d\U0001f373", "\U000f0000", "\U00010a00"])
def test_a_sign_that_no_font_draws_is_printed_as_an_empty_box(sign: str, tmp_path: Path) -> None:
    text = text_with(f"Tea {sign} ware for u200d", tmp_path / "dossier")
    assert squeezed("Tea □") in text
    assert squeezed("ware for u200d") in text


def test_a_control_character_is_printed_as_a_space(tmp_path: Path) -> None:
    assert squeezed("Tea ware") in text_with("Tea\\u0007\\u0000ware", tmp_path / "dossier")


@pytest.mark.parametrize(
    "title", ["#eval(1 + 1)", "$x^2$ *b* _i_ @r <l>", "= head // not", "a \\\\ b", "<script>x</script>"]
)
def test_marks_of_the_typesetter_are_words_like_any_other(title: str, tmp_path: Path) -> None:
    assert squeezed(title.replace("\\\\", "\\")) in text_with(title, tmp_path / "dossier")


@pytest.mark.parametrize("name", ["con", "AUX", "nul", "com1"])
def test_a_form_called_like_a_device_has_a_file_name_that_every_machine_takes(name: str) -> None:
    plan = planned(BRIEF.format(title="", name=name))
    assert names_of_forms(plan)[name] == f"form-{name.lower()}"
