"""Which shelves stand in which load, and in what order from the floor up. Heights in mm.

A shelf lower down takes its thickness and the post that carries the next; the topmost takes its thickness, its ware and
the gap under the lid. The one that saves most by losing its post goes on top.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LevelWanted:
    """One loaded shelf looking for a place: ``index`` says which; ``order`` sorts shelves from the floor up.

    ``post_mm`` is the post that the ware needs above it, ``top_mm`` the height of ware and gap where no shelf follows.
    ``top_only``: it has no room for posts.
    """

    index: int
    group: str
    order: tuple[float, str]
    post_mm: float
    top_mm: float
    top_only: bool = False

    @property
    def saved_on_top_mm(self) -> float:
        """Height saved where the level is the topmost and needs no post, mm."""
        return self.post_mm - self.top_mm


def column_height_mm(levels: Sequence[LevelWanted], thickness_mm: float) -> float:
    """Height that a stack of these shelves takes with the best one on top, mm; inf if two must be on top."""
    if not levels:
        return 0.0
    forced = [level for level in levels if level.top_only]
    if len(forced) > 1:
        return float("inf")
    top = forced[0] if forced else max(levels, key=lambda level: level.saved_on_top_mm)
    return sum(thickness_mm + level.post_mm for level in levels if level is not top) + thickness_mm + top.top_mm


def floor_up(levels: Sequence[LevelWanted]) -> list[LevelWanted]:
    """The same shelves from the floor up: in their common order, but for the one that goes on top."""
    if not levels:
        return []
    ordered = sorted(levels, key=lambda level: (level.order, level.index))
    # Of equals the last stays last, so that the common order is broken as seldom as can be.
    top = max(ordered, key=lambda level: (level.top_only, level.saved_on_top_mm, ordered.index(level)))
    return [level for level in ordered if level is not top] + [top]


def first_that_fits(levels: Sequence[LevelWanted], height_mm: float, thickness_mm: float) -> list[list[LevelWanted]]:
    """Columns filled tallest shelf first, each into the first column with room."""
    columns: list[list[LevelWanted]] = []
    for level in sorted(levels, key=lambda level: (not level.top_only, -level.post_mm, level.index)):
        for column in columns:
            if column_height_mm([*column, level], thickness_mm) <= height_mm + 1e-9:
                column.append(level)
                break
        else:
            columns.append([level])
    return columns


def dealt_round(
    levels: Sequence[LevelWanted], height_mm: float, thickness_mm: float, columns_wanted: int
) -> list[list[LevelWanted]] | None:
    """Shelves of each group dealt out evenly over so many columns, or None if they do not go in that way."""
    columns: list[list[LevelWanted]] = [[] for _ in range(columns_wanted)]
    for level in sorted(levels, key=lambda level: (not level.top_only, -level.post_mm, level.group, level.index)):
        fitting = [
            (sum(other.group == level.group for other in column), column_height_mm(column, thickness_mm), number)
            for number, column in enumerate(columns)
            if column_height_mm([*column, level], thickness_mm) <= height_mm + 1e-9
        ]
        if not fitting:
            return None
        columns[min(fitting)[2]].append(level)
    return columns


def deal_into_columns(
    levels: Sequence[LevelWanted], height_mm: float, thickness_mm: float, columns_per_load: int
) -> list[list[list[LevelWanted]]]:
    """Loads, each of ``columns_per_load`` columns of shelves from the floor up.

    As few loads as tallest-first filling finds; within that number the shelves of a group are dealt out evenly, so
    that each load has its like share on like levels.
    """
    if not levels:
        return []
    filled = first_that_fits(levels, height_mm, thickness_mm)
    loads = -(-len(filled) // columns_per_load)
    even = dealt_round(levels, height_mm, thickness_mm, loads * columns_per_load)
    columns = even if even is not None else filled
    columns += [[] for _ in range(loads * columns_per_load - len(columns))]
    # Column k goes to load k mod loads, so that dealing in turn reaches every load before any second half.
    return [[floor_up(columns[load + loads * half]) for half in range(columns_per_load)] for load in range(loads)]
