"""A logger's file read, and what pages show of it: cones, stretches, how the schedule was met, a curve of few points."""

from __future__ import annotations

import gzip
import io
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import WareboardError

if TYPE_CHECKING:
    from wareboard.book.firings.models import Firing
    from wareboard.kiln.cone import HeatWork
    from wareboard.kiln.log import FiringLog
    from wareboard.kiln.log_review import Met
    from wareboard.kiln.segment import Schedule

Array = NDArray[np.float64]
CURVE_POINTS = 360
MOST_FINDINGS = 200


@dataclass(frozen=True, slots=True)
class Read:
    """What came of reading a file: its trouble, or its summary and samples; and what is odd in it."""

    trouble: str
    findings: list[dict[str, Any]]
    summary: dict[str, Any] | None
    samples: bytes | None


def read(data: bytes, options: Mapping[str, Any], firing: Firing) -> Read:
    """The file read with ``unit``, ``terminals_c`` and ``leave_out``; where it cannot be read, the trouble and its lines."""
    from wareboard.kiln.log import parse, without_spikes

    unit, terminals_c = options.get("unit") or None, float(options.get("terminals_c", 25.0))
    try:
        log = parse(data, unit=unit, cold_junction_c=terminals_c, leave_out=bool(options.get("leave_out")))
        findings = listed(log)
        clean = without_spikes(log)
        return Read("", findings, summary(clean, firing), packed(clean))
    except WareboardError as problem:
        return Read(str(problem), _every_bad_line(data, unit, terminals_c), None, None)


def _every_bad_line(data: bytes, unit: str | None, terminals_c: float) -> list[dict[str, Any]]:
    """Every line that would be left out, so that a person is told once; nothing where the whole file is at fault."""
    from wareboard.kiln.log import parse

    try:
        return listed(parse(data, unit=unit, cold_junction_c=terminals_c, leave_out=True))
    except WareboardError:
        return []


def listed(log: FiringLog) -> list[dict[str, Any]]:
    """What is odd in a log as plain data, the first two hundred and a count of the rest."""
    found = [{"kind": each.kind, "line": each.line, "words": each.words} for each in log.findings[:MOST_FINDINGS]]
    more = len(log.findings) - MOST_FINDINGS
    return [*found, {"kind": "more", "line": 0, "words": f"{more} more of the same"}] if more > 0 else found


def summary(log: FiringLog, firing: Firing) -> dict[str, Any]:
    """What pages show of a log, as plain data."""
    planned = schedule_from(firing.schedule)
    return {
        "samples": len(log.times_s),
        "hours": float(log.times_s[-1]) / 3600.0,
        "started": log.started,
        "channels": [_channel(log, name, planned, firing) for name in log.channels],
    }


def _channel(log: FiringLog, name: str, planned: Schedule | None, firing: Firing) -> dict[str, Any]:
    from wareboard.kiln.cone import equivalent
    from wareboard.kiln.log_review import review

    temps = log.channel(name)
    told: dict[str, Any] = {"name": name, "curve": thinned(log.times_s / 3600.0, temps)}
    told |= {"peak_c": float(temps.max()), "peak_at_h": float(log.times_s[int(np.argmax(temps))]) / 3600.0}
    try:
        seen = review(log, planned, name)
        held = equivalent(log.times_s, temps, firing.form, to_end_of_hold=True)
        found = equivalent(log.times_s, temps, firing.form)
        told |= {
            "last_100_h": seen.last_100_h,
            "stretches": [asdict(each) for each in seen.segments],
            "met": [_met(each) for each in seen.met],
            "held": asdict(held),
            "found": asdict(found),
            "lean_deg": found.bend(firing.cone),
        }
    except WareboardError as problem:
        told["trouble"] = str(problem)
    return told


def _met(met: Met) -> dict[str, Any]:
    planned = {"rate": met.planned.rate_c_per_h, "target": met.planned.target_c, "hold": met.planned.hold_min}
    done = ("rate_c_per_h", "hold_min", "overshoot_c", "reached_h", "late_min")
    return {"planned": planned, **{name: getattr(met, name) for name in done}}


def heat_work_from(kept: Mapping[str, Any]) -> HeatWork:
    """The heat work that a summary keeps, as the kiln room takes it."""
    from wareboard.kiln.cone import HeatWork

    return HeatWork(**{**kept, "cones": tuple(kept["cones"]), "ln_works": tuple(kept["ln_works"])})


def thinned(hours: Array, temps: Array, points: int = CURVE_POINTS) -> list[list[float]]:
    """A curve of few points that keeps every peak and dip: the lowest and the highest of each span, in their order."""
    if len(hours) <= points:
        keep = np.arange(len(hours))
    else:
        edges = np.linspace(0, len(hours), points // 2 + 1).astype(int)
        spans = [temps[a:b] for a, b in pairwise(edges)]
        ends = [(a + int(span.argmin()), a + int(span.argmax())) for a, span in zip(edges, spans, strict=False)]
        keep = np.unique(np.array([0, len(hours) - 1, *(at for pair in ends for at in pair)]))
    return [[round(float(hours[at]), 4), round(float(temps[at]), 1)] for at in keep]


# --- every sample, packed ---------------------------------------------------------------------------------------------


def packed(log: FiringLog) -> bytes:
    """Times and temperatures as gzip of two arrays."""
    out = io.BytesIO()
    np.savez(out, times_s=log.times_s, temps_c=log.temps_c.astype(np.float32))
    return gzip.compress(out.getvalue(), 4)


def unpacked(data: bytes, told: Mapping[str, Any]) -> FiringLog:
    """The log that was packed; the names of its thermocouples and its start come from its summary."""
    from wareboard.kiln.log import FiringLog

    with np.load(io.BytesIO(gzip.decompress(data))) as arrays:
        times, temps = arrays["times_s"], arrays["temps_c"].astype(np.float64)
    names = tuple(each["name"] for each in told.get("channels", []))
    return FiringLog(times, temps, names, str(told.get("started", "")), range(1, len(times) + 1), ())


# --- schedules as plain data ------------------------------------------------------------------------------------------


def schedule_data(schedule: Schedule) -> dict[str, Any]:
    """A schedule as it is kept with a firing."""
    return {
        "name": schedule.name,
        "start_c": schedule.start_c,
        "cone": schedule.cone,
        "form": schedule.form,
        "kind": schedule.kind,
        "segments": [[each.rate_c_per_h, each.target_c, each.hold_min, each.why] for each in schedule.segments],
    }


def schedule_from(kept: Mapping[str, Any] | None) -> Schedule | None:
    """The schedule that a firing keeps; None where it keeps none."""
    from wareboard.kiln.segment import Schedule, Segment

    if not kept:
        return None
    segments = tuple(Segment(*row) for row in kept["segments"])
    return Schedule(kept["name"], segments, kept["start_c"], kept["cone"], kept["form"], kept["kind"])
