"""The middles of strokes as few, long, smooth lines: a skeleton of pixels walked from node to node, pruned and joined."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange
from wareboard.mark.wall import Floats

Mask = NDArray[np.bool_]
Pixel = tuple[int, int]
AROUND = [(i, j) for i in (-1, 0, 1) for j in (-1, 0, 1) if i or j]
STRAIGHT_ON = np.cos(np.radians(50.0))  # two lines that meet with less of a turn are one line


class _Edge:
    """A run of pixels between two nodes; a loop that touches none has -1 for both."""

    def __init__(self, pixels: Floats, first: int, last: int) -> None:
        self.pixels, self.first, self.last = pixels, first, last

    @property
    def length(self) -> float:
        return float(np.hypot(*np.diff(self.pixels, axis=0).T).sum())


def middles(ink: Mask, slack_px: float) -> list[tuple[Floats, bool]]:
    """Lines along the middle of what is inked, as ((n, 2) of row and column, closed), the longest first.

    Args:
        ink: where there is ink.
        slack_px: farthest a line may be moved when it is simplified, pixels.
    Raises:
        OutOfRange: if there are no lines in it, only dots.
    Source: thinning as in scikit-image; the rest is ours.
    """
    from scipy.ndimage import distance_transform_edt
    from skimage.morphology import skeletonize

    framed = np.pad(ink, 2)
    depth = distance_transform_edt(framed)
    edges, nodes = _walked(skeletonize(framed))  # type: ignore[no-untyped-call]
    edges = _pruned(edges, nodes, depth)
    edges = _joined(edges, depth)
    found = []
    for edge in edges:
        closed = edge.first == -1 or (edge.first == edge.last and len(edge.pixels) > 3)
        line = _smoothed(edge.pixels, closed, float(np.median(_at(depth, edge.pixels))))
        line = _simplified(line, closed, slack_px) - 2.0
        if len(line) >= (3 if closed else 2):
            found.append((line, closed))
    if not found:
        raise OutOfRange(
            "the mark", why="there are no lines in it, only dots", mend="Trace it as outlines, or draw it in lines"
        )
    return found


def _at(depth: Floats, pixels: Floats) -> Floats:
    places = np.rint(pixels).astype(int)
    return np.asarray(depth[places[:, 0], places[:, 1]])


def _walked(skeleton: Mask) -> tuple[list[_Edge], dict[int, Floats]]:
    """Edges and nodes of a skeleton; neighbouring pixels that branch are one node, in the middle of them."""
    pixels = {(int(r), int(c)) for r, c in np.argwhere(skeleton)}
    beside = {pixel: _beside(pixel, pixels) for pixel in sorted(pixels)}
    node_of: dict[Pixel, int] = {}
    centres: dict[int, Floats] = {}
    for pixel, near in beside.items():
        if len(near) != 2 and pixel not in node_of:
            cluster = _cluster(pixel, beside) if len(near) > 2 else [pixel]
            centres[len(centres)] = np.mean(cluster, axis=0)
            node_of.update(dict.fromkeys(cluster, len(centres) - 1))
    edges: list[_Edge] = []
    done: set[Pixel] = set()
    for pixel, node in node_of.items():
        for step in beside[pixel]:
            if step not in node_of and step not in done:
                run = _run(pixel, step, beside, node_of)
                done.update(run[1:-1])
                ends = node, node_of[run[-1]]
                places = [centres[ends[0]], *run[1:-1], centres[ends[1]]]
                edges.append(_Edge(np.array(places, dtype=np.float64), *ends))
    for pixel in beside:
        if pixel not in node_of and pixel not in done:
            run = _loop(pixel, beside)
            done.update(run)
            edges.append(_Edge(np.array(run, dtype=np.float64), -1, -1))
    return edges, centres


def _beside(pixel: Pixel, pixels: set[Pixel]) -> list[Pixel]:
    """Neighbours, without those across a corner that can be reached straight: stairs are no branches."""
    near = [(pixel[0] + i, pixel[1] + j) for i, j in AROUND if (pixel[0] + i, pixel[1] + j) in pixels]
    straight = {each for each in near if each[0] == pixel[0] or each[1] == pixel[1]}
    return [each for each in near if each in straight or not ({(pixel[0], each[1]), (each[0], pixel[1])} & straight)]


def _cluster(pixel: Pixel, beside: dict[Pixel, list[Pixel]]) -> list[Pixel]:
    found, waiting = {pixel}, [pixel]
    while waiting:
        for each in beside[waiting.pop()]:
            if each not in found and len(beside[each]) > 2:
                found.add(each)
                waiting.append(each)
    return sorted(found)


def _run(start: Pixel, step: Pixel, beside: dict[Pixel, list[Pixel]], node_of: dict[Pixel, int]) -> list[Pixel]:
    run = [start, step]
    while run[-1] not in node_of:
        onward = [each for each in beside[run[-1]] if each != run[-2]]
        run.append(onward[0])
    return run


def _loop(start: Pixel, beside: dict[Pixel, list[Pixel]]) -> list[Pixel]:
    run = [start, beside[start][0]]
    while True:
        onward = [each for each in beside[run[-1]] if each != run[-2]]
        if not onward or onward[0] == start:
            return run
        run.append(onward[0])


def _pruned(edges: list[_Edge], nodes: dict[int, Floats], depth: Floats) -> list[_Edge]:
    """Without the short spurs that thinning grows towards corners.

    A spur's loose end lies close to the edge of the ink, or within the stroke that it grew from; a short stroke's does not.
    """
    kept = list(edges)
    for _ in range(3):
        degree = _degrees(kept)
        short = []
        for edge in kept:
            ends = sorted((edge.first, edge.last), key=lambda node: degree[node])
            loose, joined = degree[ends[0]] == 1, degree[ends[1]] > 2
            if edge.first >= 0 and loose and joined:
                node = float(_at(depth, nodes[ends[1]][None, :])[0])
                end = float(_at(depth, nodes[ends[0]][None, :])[0])
                if edge.length < 1.2 * node or (edge.length < 2.5 * node and end < 0.5 * node):
                    short.append(edge)
        if not short:
            return kept
        kept = _through_nodes([edge for edge in kept if edge not in short])
    return kept


def _degrees(edges: list[_Edge]) -> dict[int, int]:
    degree: dict[int, int] = defaultdict(int)
    for edge in edges:
        degree[edge.first] += 1
        degree[edge.last] += 1
    return degree


def _ends_at(edges: list[_Edge]) -> dict[int, list[tuple[_Edge, bool]]]:
    """For every node the edges that end there, each with whether it is their last end."""
    ends: dict[int, list[tuple[_Edge, bool]]] = defaultdict(list)
    for edge in edges:
        if edge.first >= 0:
            ends[edge.first].append((edge, False))
            ends[edge.last].append((edge, True))
    return ends


def _through_nodes(edges: list[_Edge]) -> list[_Edge]:
    """Edges made one wherever just two of them meet."""
    kept = list(edges)
    for node, degree in sorted(_degrees(kept).items()):
        if degree == 2 and node >= 0:
            meeting = _ends_at(kept)[node]
            if meeting[0][0] is not meeting[1][0]:
                kept = [edge for edge in kept if all(edge is not each for each, _ in meeting)]
                kept.append(_one(meeting[0], meeting[1]))
    return kept


def _one(a: tuple[_Edge, bool], b: tuple[_Edge, bool], bridged: bool = False) -> _Edge:
    """Two edges that meet, as one that runs through; their common pixel once, unless a bridge lies between them."""
    first = a[0].pixels if a[1] else a[0].pixels[::-1]
    second = b[0].pixels[::-1] if b[1] else b[0].pixels
    start = a[0].first if a[1] else a[0].last
    end = b[0].first if b[1] else b[0].last
    return _Edge(np.vstack([first, second if bridged else second[1:]]), start, end)


def _short_of_node(edge: _Edge, last: bool, depth: Floats) -> _Edge:
    """The edge stopped where the other stroke's ink begins: within it the skeleton is drawn off its own line."""
    pixels = edge.pixels[::-1] if last else edge.pixels
    reach = 1.5 * float(_at(depth, pixels[:1])[0])
    far = np.hypot(*(pixels - pixels[0]).T) > reach
    start = int(far.argmax()) if far.any() else len(pixels) - 2
    kept = pixels[start:] if len(pixels) > 2 else pixels
    return _Edge(kept[::-1] if last else kept, edge.first, edge.last)


def _joined(edges: list[_Edge], depth: Floats) -> list[_Edge]:
    """Lines that run straight on through a crossing made one, the straightest pairs first; the longest line first."""
    kept = _through_nodes(edges)
    for node in sorted(_ends_at(kept)):
        while True:
            meeting = _ends_at(kept)[node]
            best, pair = STRAIGHT_ON, None
            for i, a in enumerate(meeting):
                for b in meeting[i + 1 :]:
                    straight = -float(_leaving(*a) @ _leaving(*b))
                    if straight > best:
                        best, pair = straight, (a, b)
            if pair is None:
                break
            kept = [edge for edge in kept if edge is not pair[0][0] and edge is not pair[1][0]]
            if pair[0][0] is pair[1][0]:
                kept.append(_closed(pair[0][0], depth))
                continue
            first, second = ((_short_of_node(edge, last, depth), last) for edge, last in pair)
            kept.append(_one(first, second, bridged=True))
    return sorted(kept, key=lambda edge: (-edge.length, *edge.pixels[0]))


def _closed(edge: _Edge, depth: Floats) -> _Edge:
    """A line that comes back to where it began and runs on there: a loop, bridged."""
    stopped = _short_of_node(_short_of_node(edge, False, depth), True, depth)
    return _Edge(stopped.pixels, -1, -1)


def _leaving(edge: _Edge, last: bool) -> Floats:
    """Direction in which an edge leaves its node, over some ten pixels."""
    pixels = edge.pixels[::-1] if last else edge.pixels
    way = pixels[min(len(pixels) - 1, 10)] - pixels[0]
    return np.asarray(way / max(float(np.hypot(*way)), 1e-9))


def _smoothed(pixels: Floats, closed: bool, depth: float) -> Floats:
    """The run without the stairs of its pixels; open ends stay where they are."""
    from scipy.ndimage import gaussian_filter1d

    loop = np.vstack([pixels, pixels[:1]]) if closed else pixels
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(loop, axis=0).T))])
    count = max(3, int(along[-1]) + 1)
    even = np.linspace(0, along[-1], count)
    line = np.column_stack([np.interp(even, along, loop[:, axis]) for axis in (0, 1)])
    broad = float(np.clip(0.5 * depth, 1.0, 4.0))
    if closed:
        return np.asarray(gaussian_filter1d(line[:-1], broad, axis=0, mode="wrap"))
    # Mirrored through its ends, a straight line stays straight up to them.
    edge = min(count - 1, int(4 * broad))
    before, after = 2 * line[0] - line[edge:0:-1], 2 * line[-1] - line[-2 : -edge - 2 : -1]
    return np.asarray(gaussian_filter1d(np.vstack([before, line, after]), broad, axis=0)[edge : edge + count])


def _simplified(line: Floats, closed: bool, slack_px: float) -> Floats:
    from skimage.measure import approximate_polygon

    if not closed:
        return np.asarray(approximate_polygon(line, slack_px))  # type: ignore[no-untyped-call]
    # A loop is cut at its two farthest points, so that neither is lost.
    far = int(np.hypot(*(line - line[0]).T).argmax())
    halves = [np.vstack([line[: far + 1]]), np.vstack([line[far:], line[:1]])]
    first, second = (approximate_polygon(half, slack_px) for half in halves)  # type: ignore[no-untyped-call]
    return np.vstack([first[:-1], second[:-1]])
