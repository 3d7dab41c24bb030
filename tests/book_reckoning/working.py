"""Looks over the working that a result carries."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from wareboard.reference import WORDS_FOR_SOURCES, sources
from wareboard.working import Step, worked_out

PLAIN_WORDS = {"own records", "given", "worked out"}


def meets_its_working(steps: Iterable[Step]) -> None:
    """Every formula, worked out over its inputs, meets the value shown; a value without one says how it was reached."""
    steps = tuple(steps)
    assert steps
    for step in steps:
        known = {*WORDS_FOR_SOURCES, *sources(), *PLAIN_WORDS}
        assert set(step.source.removeprefix("default: ").split("+")) <= known, step.source
        if step.formula:
            assert worked_out(step.formula, step.inputs) == pytest.approx(step.value, rel=1e-9, abs=1e-9), step.name
        else:
            assert step.how
        if step.low is not None and step.high is not None:
            assert step.low <= step.value <= step.high, step.name
