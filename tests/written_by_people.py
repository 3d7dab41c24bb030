"""A formula as it is shown to people, taken back to plain arithmetic, so that what is shown can be worked out again."""

from __future__ import annotations

BACK = (
    ("rounded up (", "ceil("),
    ("rounded down (", "floor("),
    ("rounded (", "round("),
    ("larger of (", "max("),
    ("smaller of (", "min("),
    ("√(", "sqrt("),
    ("ln(", "log("),
    ("π", "pi"),
    ("^", "**"),
    ("\N{MULTIPLICATION SIGN}", "*"),
    ("\N{MINUS SIGN}", "-"),
)


def as_arithmetic(shown: str) -> str:
    """The formula in the signs that `wareboard.working.worked_out` knows."""
    for words, sign in BACK:
        shown = shown.replace(words, sign)
    return shown
