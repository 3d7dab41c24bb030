"""Recording: a kiln by its name, a firing by the next number, files as they came, logs, packs, parts, loads moved."""

from __future__ import annotations

import gzip
import hashlib
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from django.db import transaction

from wareboard.book.firings import log_summary
from wareboard.book.firings.kiln_names import line_of
from wareboard.book.firings.models import (
    ConeReading,
    Firing,
    FiringLog,
    Kept,
    KeptFile,
    Kiln,
    MovedLoad,
    PartsChange,
)
from wareboard.book.firings.signing import Signed, begin, change, fetch_back
from wareboard.errors import OutOfRange, Unreadable
from wareboard.pictures import fit_to_keep
from wareboard.plan.result import slug

if TYPE_CHECKING:
    from wareboard.kiln.thermal import KilnModel

LARGEST_LOG = 200_000_000
TAKEN = {
    "schedule",
    "load",
    "sheets",
    "files",
    "degrees",
    "into-firing",
    "trace",
    "",
}  # words that stand in addresses where a kiln's could


def slug_of(name: str) -> str:
    """A kiln's name as it stands in an address."""
    plain = slug(name)[:60]
    return f"kiln-{plain}".rstrip("-") if plain in TAKEN else plain


def kiln_named(name: str, by: Signed) -> Kiln:
    """The kiln's record, begun where there is none yet."""
    with transaction.atomic():
        found = Kiln.objects.filter(name=name).first()
        if found is not None:
            return found
        stem, at = slug_of(name), 1
        while Kiln.objects.filter(slug=stem if at == 1 else f"{stem}-{at}").exists():
            at += 1
        return begin(Kiln(name=name, slug=stem if at == 1 else f"{stem}-{at}"), f"{name} begun", by)


def new_firing(kiln: Kiln, fields: Mapping[str, Any], by: Signed) -> Firing:
    """A firing with the kiln's next number; numbers are never used twice."""
    with transaction.atomic():
        Kiln.objects.select_for_update().get(pk=kiln.pk)
        last = Firing.objects.filter(kiln=kiln).order_by("-number").values_list("number", flat=True).first()
        if last is None:  # a kiln under a new name counts on from where it stopped
            last = max((number for each, _ in line_of(kiln) for number in _numbers(each)), default=0)
        return begin(Firing(kiln=kiln, number=last + 1, **fields), "Recorded", by)


def _numbers(kiln: Kiln) -> list[int]:
    return list(kiln.firings.values_list("number", flat=True))


def keep_file(data: bytes, name: str, kind: str, by: Signed, pack: bool = False) -> KeptFile:
    """The file as it came, kept once however often it is sent."""
    digest = hashlib.sha256(data).hexdigest()
    with transaction.atomic():
        found = KeptFile.objects.filter(digest=digest, kind=kind, packed=pack).first()
        if found is not None:
            return found
        content = gzip.compress(data, 4) if pack else data
        return KeptFile.objects.create(
            name=name[:200],
            kind=kind,
            digest=digest,
            size=len(data),
            packed=pack,
            content=content,
            who=by.who[:80],
            written=by.when,
        )


def content_of(file: KeptFile) -> bytes:
    """A kept file's bytes, as they were uploaded."""
    data = bytes(file.content)
    return gzip.decompress(data) if file.packed else data


def keep_photo(data: bytes, name: str, by: Signed) -> KeptFile:
    """A photograph kept without its notes.

    Raises:
        Unreadable: if it is no picture, or is cut short.
        OutOfRange: if it is too large.
    """
    plain, kind = fit_to_keep(data, name)
    return keep_file(plain, name, kind, by)


def keep_log(firing: Firing, data: bytes, name: str, options: Mapping[str, Any], by: Signed) -> FiringLog:
    """The logger's file kept as it came, and read; where it cannot be read its trouble is kept beside it.

    Raises:
        Unreadable: if it is larger than any log of a firing; only then nothing is kept.
    """
    if len(data) > LARGEST_LOG:
        raise Unreadable(
            name,
            f"it has {len(data) / 1e6:.0f} MB, and no log of a firing is larger than 200",
            "Export this firing alone",
        )
    with transaction.atomic():
        file = keep_file(data, name, "text/csv", by, pack=True)
        log = FiringLog(firing=firing, file=file, options=dict(options), written=by.when)
        _read_into(log, data)
        return begin(log, f"Log {name} taken in", by)


def read_again(log: FiringLog, options: Mapping[str, Any], by: Signed) -> FiringLog:
    """The same file read with other options."""
    fresh = FiringLog(firing=log.firing, file=log.file, options=dict(options), written=log.written)
    _read_into(fresh, content_of(log.file))
    fields = {name: getattr(fresh, name) for name in ("options", "trouble", "findings", "summary", "samples", "fit")}
    return change(log, fields, f"Log {log.file.name} read again", by)


def review_again(firing: Firing) -> None:
    """The firing's logs set beside its schedule and cone as they stand now."""
    for log in firing.logs.exclude(samples=None):
        log.summary = log_summary.summary(log_summary.unpacked(bytes(log.samples or b""), log.summary or {}), firing)
        log.save(update_fields=["summary"])


def fit_kiln(log: FiringLog, model: KilnModel, by: Signed) -> FiringLog:
    """The kiln's model fitted to a log that was read, by its first thermocouple and the firing's kWh where they were read.

    Raises:
        OutOfRange: if no plan is kept with the firing, or the log ends before the kiln has cooled and brings no kWh.
    """
    from wareboard.kiln.calibrate import calibrate

    planned = log_summary.schedule_from(log.firing.schedule)
    if planned is None or log.summary is None or log.samples is None:
        raise OutOfRange(
            "the kiln's model",
            "a fit needs a log that was read and the schedule it was to follow",
            "Write the plan first",
        )
    samples = log_summary.unpacked(bytes(log.samples), log.summary)
    found = calibrate(samples.times_s, samples.channel(0), model, planned, log.firing.energy_kwh)
    factors = {"wall": found.wall_factor, "load": found.load_factor}
    fit: dict[str, Any] = {name: [each.value, each.low, each.high] for name, each in factors.items()}
    fit["rms_c"] = found.rms_c
    return change(log, {"fit": fit}, "The kiln's model fitted to the log", by)


def settle(record: Kept) -> None:
    """Bring what was worked out of a record in line after it went back or forward: a log is read anew with its options."""
    if isinstance(record, FiringLog):
        _read_into(record, content_of(record.file))
        record.save(update_fields=["trouble", "findings", "summary", "samples"])
    elif isinstance(record, Firing):
        review_again(record)


def records_of(firing: Firing) -> list[Kept]:
    """A firing with its packs, logs and boards: everything that its page can change."""
    logs = firing.logs.defer("samples").select_related("firing")
    return [firing, *firing.cones.all(), *logs, *firing.loaded.select_related("board")]


def _read_into(log: FiringLog, data: bytes) -> None:
    read = log_summary.read(data, log.options, log.firing)
    log.trouble, log.findings, log.summary, log.samples = read.trouble, read.findings, read.summary, read.samples


def keep_cones(firing: Firing, rows: Sequence[Mapping[str, Any]], by: Signed) -> int:
    """Write each level's pack: a row with ``pk`` changes that reading, one without begins one; how many rows there were."""
    with transaction.atomic():
        for row in rows:
            fields = {name: value for name, value in row.items() if name != "pk"}
            held = firing.cones.filter(pk=row["pk"]).first() if row.get("pk") else None
            if held is not None:
                change(held, fields, f"Cones on {fields['level']} read again", by)
            else:
                begin(ConeReading(firing=firing, **fields), f"Cones on {fields['level']} read", by)
    return len(rows)


def keep_parts(kiln: Kiln, fields: Mapping[str, Any], by: Signed) -> PartsChange:
    """Parts changed, after the kiln's last firing up to that day."""
    last = kiln.firings.filter(put_away=None, day__lte=fields["day"]).order_by("-number").first()
    made = PartsChange(kiln=kiln, after_firing=last.number if last else 0, **fields)
    return begin(made, f"{made.get_part_display()} changed", by)


def keep_moved(
    code: str,
    kind: str,
    number: int,
    made_from: str,
    places: list[Any],
    by: Signed,
    extra: Sequence[Mapping[str, Any]] = (),
    why: str = "Arranged by hand",
) -> MovedLoad:
    """The arrangement of one load, over any earlier one of it; ``extra`` are pieces that the plan does not have."""
    fields: dict[str, Any] = {"made_from": made_from, "places": places, "extra": [dict(each) for each in extra]}
    with transaction.atomic():
        held = MovedLoad.objects.filter(commission_code=code, kind=kind, number=number).first()
        if held is None:
            return begin(MovedLoad(commission_code=code, kind=kind, number=number, **fields), why, by)
        if held.put_away is not None:
            held = fetch_back(held, f"{why} again", by)
        return change(held, fields, why, by)
