"""What do boxes of several sizes cost beside what any packing must cost, and beside first fit by falling size?"""

from __future__ import annotations

import time

import numpy as np

from wareboard.book.reckoning.box_sizes import Sized, pack_sizes
from wareboard.book.reckoning.boxes import Box, Parcel, pack, wrapped

QUESTION = "price of the boxes of 24 to 240 wrapped pieces over the proved least price"
REFERENCE = (
    "a proved bound (volumes, weights and places together, scipy.optimize.milp); "
    "first fit by falling size into the large box alone; orders drawn with a seed, sizes and prices invented"
)
ORDERS = 20
SMALL = Sized("small", Box(250.0, 200.0, 200.0, 8000.0, 250.0), 1.20)
MIDDLE = Sized("middle", Box(400.0, 300.0, 300.0, 15_000.0, 500.0), 2.40)
LARGE = Sized("large", Box(600.0, 400.0, 400.0, 20_000.0, 900.0), 4.10)
FORMS = ((84.0, 94.0, 310.0, 40.0), (150.0, 70.0, 480.0, 0.0), (105.0, 180.0, 750.0, 50.0), (270.0, 30.0, 980.0, 0.0))


def run() -> list[dict[str, str]]:
    """A row for each number of pieces: both ways over the bound, how often the bound is met, seconds."""
    return [_row(count) for count in (24, 72, 240)]


def _row(count: int) -> dict[str, str]:
    ours, plain, met, took = [], [], 0, []
    for seed in range(ORDERS):
        parcels = _order(np.random.default_rng(seed), count)
        began = time.perf_counter()
        found = pack_sizes(parcels, (SMALL, MIDDLE, LARGE))
        took.append(time.perf_counter() - began)
        met += found.is_least
        ours.append(found.price / found.at_least)
        plain.append(len(pack(parcels, LARGE.box).boxes) * LARGE.price / found.at_least)
    return {
        "pieces": str(count),
        "several sizes over the bound: mean, worst": f"{np.mean(ours):.3f}, {max(ours):.3f}",
        "large box alone over the bound: mean, worst": f"{np.mean(plain):.3f}, {max(plain):.3f}",
        "proved least": f"{met} of {ORDERS}",
        "seconds, mean": f"{np.mean(took):.2f}",
    }


def _order(random: np.random.Generator, count: int) -> list[Parcel]:
    """Pieces of one to three invented forms, each a little off its size."""
    chosen = random.choice(len(FORMS), size=int(random.integers(1, 4)), replace=False)
    found = []
    for form in random.choice(chosen, size=count):
        wide, tall, heavy, handle = FORMS[form]
        size = 1.0 + float(random.choice((-0.01, 0.0, 0.01)))
        found.append(wrapped("piece", wide * size, tall * size, heavy * size**3, 20.0, 60.0, handle))
    return found
