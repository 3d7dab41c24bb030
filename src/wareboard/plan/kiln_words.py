"""How a kiln's wall and its posts are written, and read: "brick 64 mm + fibre 25 mm", "12 x 150 mm".

A wall may also be one of a few builds by name. A length is read as all lengths are, mm where no unit stands.
"""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import BeforeValidator

from wareboard.errors import OutOfRange, Unreadable, as_written
from wareboard.quantities import length_mm

# Builds as kilns are sold, hot face first. from memory
BUILDS = {
    "thin brick": (("brick", 64.0),),
    "brick": (("brick", 76.0),),
    "thick brick": (("brick", 114.0),),
    "fibre": (("fibre", 150.0),),
    "brick backed with fibre": (("brick", 76.0), ("fibre", 25.0)),
}
MATERIALS = ("brick", "fibre")
LAYER = re.compile(r"\s*(?P<what>[a-z]+)\s+(?P<thick>.+?)\s*$", re.IGNORECASE)
POSTS = re.compile(r"\s*(?P<count>\d+)\s*(?:x|×|\*|of)\s*(?P<long>.+?)\s*$", re.IGNORECASE)
THINNEST_MM, THICKEST_MM = 5.0, 600.0
WALL_MEND = f'Write it like "brick 64 mm + fibre 25 mm", or one of: {", ".join(BUILDS)}'
POSTS_MEND = 'Write how many of which length, such as "12 x 150 mm"'


def wall_layers(words: str) -> tuple[tuple[str, float], ...]:
    """The layers of a wall from the hot face outwards: brick or fibre, and how thick, mm.

    Raises:
        Unreadable: for another material, or a layer without a thickness.
        OutOfRange: for a layer thinner or thicker than any.
    """
    named = BUILDS.get(" ".join(words.lower().split()))
    if named is not None:
        return named
    found = []
    for part in re.split(r"\s*[+;]\s*|,\s+", words.strip()):
        layer = LAYER.match(part)
        what = (
            "fibre"
            if layer and layer["what"].lower() in ("fibre", "fiber", "blanket")
            else (layer or {"what": ""})["what"]
        )
        if layer is None or what.lower() not in MATERIALS:
            raise Unreadable(as_written(part or words), "it is no layer of brick or fibre with a thickness", WALL_MEND)
        thick = length_mm(layer["thick"])
        if not THINNEST_MM <= thick <= THICKEST_MM:
            raise OutOfRange(part, f"a layer is from {THINNEST_MM:g} to {THICKEST_MM:g} mm thick", "Check its unit")
        found.append((what.lower(), thick))
    return tuple(found)


def posts_of(words: str) -> tuple[int, float]:
    """How many posts of which length, mm.

    Raises:
        Unreadable: where either is missing.
        OutOfRange: for a length that no post has.
    """
    found = POSTS.match(words)
    if found is None:
        raise Unreadable(as_written(words), "it does not say how many posts of which length", POSTS_MEND)
    long_mm = length_mm(found["long"])
    if not 3.0 <= long_mm <= 1200.0:
        raise OutOfRange(words, "a post is from 3 to 1200 mm long", "Check its unit")
    return int(found["count"]), long_mm


def _wall(written: Any) -> str:
    words = " ".join(str(written).split())
    wall_layers(words)
    return words


def _posts(written: Any) -> str:
    count, long_mm = posts_of(str(written))
    return f"{count} x {round(long_mm, 3):g} mm"


Wall = Annotated[str, BeforeValidator(_wall)]
OwnedPosts = Annotated[str, BeforeValidator(_posts)]
