"""Whether a table of figures is a kiln's log at all: by what stands above its columns, or by how its figures run.

Any table of two columns can be read as times and temperatures: a price list, a drawing's points, the weights of a class.
"""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import Unreadable
from wareboard.kiln.log_text import CLOCK, Table, is_number
from wareboard.kiln.log_time import DATE, TIME_WORDS, UNIT_WORDS

Array = NDArray[np.float64]
COLDEST_C, HOTTEST_C = -40.0, 1450.0
SLOWEST_STEP_S = 2 * 3600.0  # a potter who writes by hand notes every hour or half hour
FIRED_C, ROOM_C = (
    300.0,
    100.0,
)  # where no heading helps: a firing passes the first, and one end of its log lies below the second
FEWEST = 10
LOOKED_AT, TURNS = 40, 4.0
NOT_WARE = re.compile(
    r"set.?point|\bsp\b|target|power|duty|output|%|volt|amp|kwh?\b|ambient|room|board|cold|segment|step", re.IGNORECASE
)
TEMPERATURE = re.compile(
    r"temp|°|deg|\bt\d*\b|\btc\d*\b|thermo|\bpv\b|kiln|top|middle|bottom|chan|\bch\d*\b|probe", re.IGNORECASE
)
FAHRENHEIT = re.compile(r"°\s*f\b|deg\.?[\s_]*f\b|fahrenheit|[(\[_ ]f[)\]]?$|temp(erature)?f$", re.IGNORECASE)
CELSIUS = re.compile(r"°\s*c\b|\bdeg\.?\s*c\b|celsius|[(\[_ ]c[)\]]?$", re.IGNORECASE)
MILLIVOLT = re.compile(r"\bmv\b|millivolt", re.IGNORECASE)
SURELY = re.compile(r"temp|thermo|°\s*[cf]|deg|celsius|fahrenheit", re.IGNORECASE)
OTHER = re.compile(
    r"weigh|\bmass\b|\bk?g\b|gram|price|cost|\beur\b|[€£$]|\b[mc]m[23²³]?\b|length|width|height|diam|radius|humid|\brh\b"
    r"|volume|\bml\b|litre|shrink|loss|thick",
    re.IGNORECASE,
)
# No temperature either, but a logger may head the numbers of its samples so.
POINTS = re.compile(r"\b[xyz]\b|count|pieces|quantity", re.IGNORECASE)
MEND = "Choose the logger's own file; if this is it, write a line such as time (s),temperature (°C) above its figures"


def temperature_columns(grid: Table, when: list[int]) -> list[int]:
    """Which columns are the ware's temperatures: numbers that the headings do not give to something else.

    Raises:
        Unreadable: if every column of numbers is headed as something else, such as a weight or a price.
    """
    numeric = [
        at for at, column in enumerate(grid.columns) if at not in when and any(is_number(text) for text in column[:50])
    ]
    ware = [at for at in numeric if not NOT_WARE.search(grid.headings[at]) and not _no_temperature(grid.headings[at])]
    named = [at for at in ware if TEMPERATURE.search(_plain(grid.headings[at]))] or ware
    if not named:
        raise Unreadable(
            "this is no kiln's log",
            where=f"lines {grid.lines[0]} to {grid.lines[-1]}",
            why=f"none of its columns is a temperature: {', '.join(grid.headings)}",
            mend="Choose the logger's own file; if this is it, name the column of the thermocouple with a word such as "
            "temperature in its heading",
        )
    return named


def refuse_other_tables(
    grid: Table, when: list[int], which: list[int], times_s: Array, temps_c: Array, *, told: tuple[bool, bool]
) -> None:
    """Refuses a table that is no kiln's log.

    What the headings call time and temperature is believed, if the time moves and a kiln could have the temperatures. Where
    they do not, the figures must run as a firing does: from or to a cool kiln, past 300 °C, at even steps, up and down and
    not to and fro.

    Args:
        times_s: (n,) seconds as written; temps_c: (n, k) °C. Rows with NaN are passed over.
        told: whether a person said the unit of the times, and of the temperatures.
    Raises:
        Unreadable: with the columns, what speaks against them, and the mend.
    """
    whole = np.isfinite(times_s) & np.isfinite(temps_c).all(axis=1)
    times, temps = times_s[whole], temps_c[whole]
    if len(times) < 2:
        return  # told elsewhere: nothing is left to judge
    where = f"lines {grid.lines[0]} to {grid.lines[-1]}, {_columns_named(grid, [when[-1], *which])}"
    stamped = _is_stamped(grid, when)
    time_known = stamped or told[0] or _names_time(grid.headings[when[0]])
    if not time_known and _names_other(grid.headings[when[0]]):
        raise _no_log(f"its first column is headed {grid.headings[when[0]]!r}, which is no time", where)
    _refuse_impossible(times, temps, where, time_known)
    if time_known and (told[1] or all(_names_temperature(grid.headings[at]) for at in which)):
        return
    against = _against(times, temps, stamped)
    if against:
        raise _no_log(f"its headings do not name a time and a temperature, and {against}", where)


def _refuse_impossible(times: Array, temps: Array, where: str, time_known: bool) -> None:
    """What no log has, whatever its headings say."""
    steps = np.diff(np.unique(times))  # in order: rows out of order are told elsewhere
    if not len(steps):
        raise _no_log("the time stands still: it is the same on every line", where)
    usual_s = float(np.median(steps))
    if time_known and usual_s > SLOWEST_STEP_S:
        shown = f"{usual_s / 3600.0:.0f} h" if usual_s < 200 * 3600.0 else f"{usual_s / 86400.0:.0f} days"
        raise _no_log(f"{shown} lie between one line and the next, too long to see a firing", where)
    odd = int(((temps < COLDEST_C) | (temps > HOTTEST_C)).any(axis=1).sum())
    if len(temps) > FEWEST and odd > len(temps) / 2:
        low, high = float(temps.min()), float(temps.max())
        raise _no_log(
            f"most of its lines are temperatures that no kiln and no room has ({low:.0f} to {high:.0f} °C)", where
        )


def _against(times: Array, temps: Array, stamped: bool) -> str:
    """What speaks against a firing in figures without headings; empty where nothing does."""
    steps = np.diff(times)
    if len(times) < FEWEST:
        return f"it holds no more than {len(times)} lines"
    if float(temps.max()) < FIRED_C:
        return f"nothing in it reaches {FIRED_C:.0f} °C"
    if not stamped:
        if not ((steps >= 0.0).all() or (steps <= 0.0).all()):
            return "what would be the time runs forward and back"
        usual = float(np.median(steps))
        if float((np.abs(steps - usual) <= 0.5 * abs(usual)).mean()) < 0.5:
            return "what would be the time goes by uneven steps"
        if float(np.minimum(temps[0], temps[-1]).min()) > ROOM_C:
            return f"it neither begins nor ends below {ROOM_C:.0f} °C"
    at = np.unique(np.linspace(0, len(temps) - 1, LOOKED_AT).astype(int))
    seen = temps[at]
    if (np.abs(np.diff(seen, axis=0)).sum(axis=0) > TURNS * np.ptp(seen, axis=0)).any():
        return "what would be the temperature jumps to and fro"
    return ""


def _no_log(why: str, where: str) -> Unreadable:
    return Unreadable("this is no kiln's log", why=why, mend=MEND, where=where)


def _columns_named(grid: Table, columns: list[int]) -> str:
    names = [grid.headings[at] or f"column {at + 1}" for at in columns]
    return ", ".join(names[:-1]) + " and " + names[-1]


def _plain(heading: str) -> str:
    return heading.replace("_", " ")  # "weight_g" is a weight in g


def _names_other(heading: str) -> bool:
    return OTHER.search(_plain(heading)) is not None and SURELY.search(heading) is None


def _no_temperature(heading: str) -> bool:
    return _names_other(heading) or (POINTS.search(_plain(heading)) is not None and SURELY.search(heading) is None)


def _names_time(heading: str) -> bool:
    words = _plain(heading)
    return TIME_WORDS.search(words) is not None or any(
        re.search(each, words, re.IGNORECASE) is not None for _, each in UNIT_WORDS
    )


def _names_temperature(heading: str) -> bool:
    return any(each.search(heading) for each in (CELSIUS, FAHRENHEIT, MILLIVOLT)) or (
        TEMPERATURE.search(_plain(heading)) is not None
    )


def _is_stamped(grid: Table, when: list[int]) -> bool:
    text = grid.columns[when[0]][0].strip()
    return CLOCK.search(text) is not None or DATE.match(text.split("T")[0].split(" ")[0]) is not None
