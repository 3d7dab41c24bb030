"""The plan's numbers as files that a machine can read: every step with its value, range, formula, inputs and source."""

from __future__ import annotations

import csv
import io
import json
from typing import Any

from wareboard import reference
from wareboard.plan.answers import answers
from wareboard.plan.result import Plan
from wareboard.sheets.data import source_in_words
from wareboard.working import Step

COLUMNS = ("key", "name", "value", "unit", "low", "high", "formula", "inputs", "how", "source", "source_in_words")
WHOLE = 10_000  # longer than any source: nothing is cut short in a file


def figure_of(step: Step) -> dict[str, Any]:
    """One step as plain data."""
    return {
        "key": step.key,
        "name": step.name,
        "value": step.value,
        "unit": step.unit,
        "low": step.low,
        "high": step.high,
        "formula": step.formula,
        "inputs": {name: float(value) for name, value in step.inputs.items()},
        "how": step.how,
        "source": step.source,
        "source_in_words": source_in_words(step.source, WHOLE),
    }


def figures_json(plan: Plan) -> str:
    """All figures, the answers, the defaults used, the notices and the sources named, as JSON text."""
    figures = [figure_of(step) for step in plan.all_steps()]
    named = {part for each in figures for part in str(each["source"]).removeprefix("default: ").split("+")}
    named |= {each.source for each in plan.assumed}
    known = reference.sources()
    data = {
        "commission": plan.brief.title,
        "invented": plan.brief.invented,
        "due": plan.brief.due.isoformat(),
        "currency": plan.price.currency,
        "lengths_shown_in": plan.length_unit,
        "answers": {each.key: {"question": each.question, "lines": list(each.lines)} for each in answers(plan)},
        "figures": figures,
        "defaults_used": [
            {
                "key": each.key,
                "label": each.label,
                "value": each.value,
                "low": each.low,
                "high": each.high,
                "unit": each.unit,
                "source": each.source,
            }
            for each in plan.assumed
        ],
        "notices": [
            {"weight": each.weight, "about": each.about, "what": each.what, "why": each.why, "mend": each.mend}
            for each in plan.notices
        ],
        "sources": {key: str(known[key]) for key in sorted(named) if key in known},
    }
    return json.dumps(data, ensure_ascii=False, sort_keys=True, indent=1, allow_nan=False) + "\n"


def figures_csv(plan: Plan) -> str:
    """All figures as CSV text, one line a step; the inputs as JSON in one cell."""
    out = io.StringIO()
    write = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    write.writeheader()
    for step in plan.all_steps():
        row = figure_of(step)
        row["inputs"] = json.dumps(row["inputs"], ensure_ascii=False, sort_keys=True)
        write.writerow({name: "" if row[name] is None else row[name] for name in COLUMNS})
    return out.getvalue()
