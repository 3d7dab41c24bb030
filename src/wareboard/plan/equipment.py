"""Kilns, people and days of the workshop with every blank filled in, each filled blank noted as a default."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from wareboard.plan.assume import Assumer
from wareboard.plan.brief import Brief
from wareboard.plan.kiln_words import posts_of
from wareboard.plan.workshop import Firing, Kiln, Person, Prices, Workshop

if TYPE_CHECKING:
    from wareboard.kiln.load import KilnInside
    from wareboard.kiln.shelf import Shelf
    from wareboard.kiln.stock import Stock


def kilns_of(brief: Brief, workshop: Workshop, assume: Assumer) -> tuple[Kiln, ...]:
    """The kilns to plan with: the brief's, else the workshop's, else one usual kiln; nothing in them left blank."""
    stated = brief.kilns or workshop.kilns
    if not stated:
        assume.note("kiln.one", "one round top-loading kiln", 1, "", "common-practice")
    return tuple(_whole_kiln(kiln, assume) for kiln in stated or (Kiln(name="Kiln"),))


def _whole_kiln(kiln: Kiln, assume: Assumer) -> Kiln:
    figure = assume.figure
    rectangular = (kiln.shape or ("rectangular" if kiln.shelf_width else "round")) == "rectangular"
    sizes: dict[str, object] = {"shape": "rectangular" if rectangular else (kiln.shape or "round")}
    if rectangular:
        width = figure("kiln.shelf_mm", kiln.shelf_width).value
        sizes |= {"shelf_width": width, "shelf_depth": kiln.shelf_depth or width}
    else:
        sizes["shelf_diameter"] = figure("kiln.shelf_mm", kiln.shelf_diameter).value
    wear = kiln.wear_per_firing
    return kiln.model_copy(
        update=sizes
        | {
            "shelf_thickness": figure("kiln.shelf_thickness_mm", kiln.shelf_thickness).value,
            "usable_height": figure("kiln.height_mm", kiln.usable_height).value,
            "power_kw": figure("kiln.power_kw", kiln.power_kw).value,
            "wear_per_firing": wear if wear is not None else money(figure("kiln.wear_per_firing").value),
        }
    )


def alike(kilns: tuple[Kiln, ...]) -> bool:
    """Whether there are several kilns and they differ in nothing but their names, so that any takes any load."""
    return len(kilns) > 1 and len({kiln.model_copy(update={"name": ""}).model_dump_json() for kiln in kilns}) == 1


def shelf_of(kiln: Kiln) -> Shelf:
    """The shelf of a kiln without blanks."""
    from wareboard.kiln.load import HalfRoundShelf, OctagonalShelf, RectangularShelf, RoundShelf

    thickness = kiln.shelf_thickness or 0.0
    if kiln.shape == "rectangular":
        return RectangularShelf(kiln.shelf_width or 0.0, kiln.shelf_depth or 0.0, thickness_mm=thickness)
    across = kiln.shelf_diameter or 0.0
    if kiln.shape == "octagonal":
        return OctagonalShelf(across, thickness_mm=thickness)
    if kiln.shape == "half-round":
        return HalfRoundShelf(across, thickness_mm=thickness)
    return RoundShelf(across, thickness_mm=thickness)


def inside_of(kiln: Kiln, assume: Assumer) -> KilnInside:
    """The room inside a kiln without blanks, as the load planner takes it."""
    from wareboard.kiln.inside import USUAL_POSTS_MM
    from wareboard.kiln.load import ConePackPlace, KilnInside, RoundShelf, Thermocouple

    halves = kiln.shape == "half-round"
    shelf = (
        RoundShelf(kiln.shelf_diameter or 0.0, thickness_mm=kiln.shelf_thickness or 0.0) if halves else shelf_of(kiln)
    )
    return KilnInside(
        shelf,
        kiln.usable_height or 0.0,
        halves=halves,
        post_lengths_mm=post_lengths_of(kiln) or USUAL_POSTS_MM,
        wall_gap_mm=assume.figure("kiln.gap_wall_mm", kiln.element_gap).value,
        top_gap_mm=assume.figure("kiln.gap_top_mm").value,
        bottom_post_mm=assume.figure("kiln.bottom_post_mm").value,
        thermocouple=Thermocouple(
            angle_at_hour(3.0 if kiln.thermocouple_at is None else kiln.thermocouple_at),
            assume.figure("kiln.gap_thermocouple_mm", kiln.thermocouple_gap).value,
        ),
        cone_pack=None
        if kiln.cone_packs == ("none",)
        else ConePackPlace(angle_at_hour(9.0 if kiln.cone_packs_at is None else kiln.cone_packs_at)),
        stock=stock_of(kiln),
    )


def stock_of(kiln: Kiln) -> Stock | None:
    """The shelves and posts that the kiln's file counts; None where it counts neither.

    Two half shelves do for a whole one; a half-round kiln counts its half shelves alone.
    """
    from wareboard.kiln.stock import Stock

    if kiln.shape == "half-round":
        shelves = kiln.half_shelves
    else:
        shelves = None if kiln.shelves is None else kiln.shelves + (kiln.half_shelves or 0) // 2
    counts: Counter[float] = Counter()
    for count, long_mm in map(posts_of, kiln.posts_owned):
        counts[long_mm] += count
    posts = tuple(sorted((long_mm, count) for long_mm, count in counts.items() if count))
    return None if shelves is None and not posts else Stock(shelves, posts)


def angle_at_hour(hour: float) -> float:
    """The direction of an hour of a clock laid on the shelf, 6 at the front: degrees anticlockwise from the right."""
    return (90.0 - 30.0 * hour) % 360.0


def post_lengths_of(kiln: Kiln) -> tuple[float, ...]:
    """Lengths of the kiln's posts, shortest first, mm: those it owns by count, else those that are listed."""
    owned = [long_mm for count, long_mm in map(posts_of, kiln.posts_owned) if count]
    return tuple(sorted({*owned, *(() if owned else kiln.posts)}))


def people_of(brief: Brief, workshop: Workshop, assume: Assumer) -> tuple[Person, ...]:
    """Who works: the brief's people, else the workshop's, else one potter; hours filled in."""
    stated = brief.people or workshop.people
    if not stated:
        assume.note("people.one", "one person, Monday to Friday", 1, "", "common-practice")
    return tuple(
        person.model_copy(update={"hours_per_day": assume.figure("people.hours_per_day", person.hours_per_day).value})
        for person in stated or (Person(name="Potter"),)
    )


def days_off(brief: Brief, workshop: Workshop) -> frozenset[date]:
    """Days on which nobody works."""
    return frozenset(workshop.days_off)


def firing_of(brief: Brief, workshop: Workshop, assume: Assumer) -> Firing:
    """How the job is fired: the brief's word, else the workshop's, else the usual, field by field."""
    ours, theirs = brief.firing, workshop.firing
    found: dict[str, Any] = {}
    for field in Firing.model_fields:
        for stated in (ours, theirs):
            if field in stated.model_fields_set:
                found[field] = getattr(stated, field)
                break
    for field, cone, label in (("bisque_cone", "04", "bisque cone"), ("glaze_cone", "6", "glaze cone")):
        if found.get(field) is None:
            found[field] = cone
            assume.note(f"firing.{field}", f"{label} {cone}", float(cone), "cone")
    if found.get("hold") is None:
        found["hold"] = assume.figure("firing.hold_min").value
    return Firing.model_construct(**{name: info.default for name, info in Firing.model_fields.items()} | found)


def prices_of(brief: Brief, workshop: Workshop, assume: Assumer) -> Prices:
    """What things cost: the brief's figure, else the workshop's, else the usual, field by field."""
    keys = {
        "wage_per_hour": "prices.wage_per_hour",
        "clay_per_kg": "clay.price_per_kg",
        "glaze_per_kg": "glaze.price_per_kg",
        "energy_per_kwh": "prices.energy_per_kwh",
        "packing_per_piece": "prices.packing_per_piece",
        "overhead": "prices.overhead_share",
        "margin": "prices.margin_share",
        "deposit": "prices.deposit_share",
        "prototype_hours": "prices.prototype_hours",
    }
    currency = brief.prices.currency or workshop.prices.currency
    if currency is None:
        currency = "EUR"
        assume.note("prices.currency", "currency EUR", 1, "", "common-practice")
    found: dict[str, Any] = {"currency": currency}
    for field, key in keys.items():
        stated = _first(getattr(brief.prices, field), getattr(workshop.prices, field))
        if stated is None:
            usual = assume.figure(key).value
            stated = money(usual) if field.endswith(("_hour", "_kg", "_kwh", "_piece")) else usual
        found[field] = stated
    return Prices.model_construct(**found)


def _first(*values: object) -> object | None:
    return next((value for value in values if value is not None), None)


def money(amount: float) -> Decimal:
    """An amount from a table, to the cent."""
    return Decimal(str(amount)).quantize(Decimal("0.01"))


def total(amounts: Iterable[Decimal]) -> Decimal:
    """The sum of amounts, exactly."""
    return sum(amounts, Decimal(0))
