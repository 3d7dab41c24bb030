"""A solid as a file that other programs open: binary glTF for looking at, STL for printing.

STL says no unit; by custom its numbers are taken as mm. glTF is in metres with y up (glTF 2.0 specification, 3.4).
"""

from __future__ import annotations

import json
import struct
from collections.abc import Mapping

import numpy as np

from wareboard.form.curve import Floats
from wareboard.form.solid import Faces, Part, Solid

# Faces that meet at less than this are shaded as one curved surface; a foot's edge or a cut rim stays sharp.
CREASE_DEG = 38.0
MM_PER_M = 1000.0
# Usual colour of a stoneware body at each stage, as red, green and blue of 0 to 1: for looking at only.
STAGE_COLOURS: Mapping[str, tuple[float, float, float]] = {
    "wet": (0.40, 0.34, 0.28),
    "leather-hard": (0.48, 0.41, 0.34),
    "dry": (0.58, 0.51, 0.43),
    "bisque": (0.72, 0.49, 0.37),
    "fired": (0.66, 0.58, 0.47),
}
HEADER = b"Wareboard, lengths in mm"
GLTF, JSON_CHUNK, BINARY_CHUNK = 0x46546C67, 0x4E4F534A, 0x004E4942
FLOATS, SHORTS, INTEGERS, POINTS, PLACES = 5126, 5123, 5125, 34962, 34963
MOST_SHORT = 65_535


def stl(solid: Solid) -> bytes:
    """Binary STL of all parts, mm, z up.

    Source: the format as commonly described: 80 bytes of header, a count, then 50 bytes a face.
    """
    corners = np.vstack([part.points_mm[part.faces] for part in solid.parts]).astype("<f4")
    square = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    long = np.linalg.norm(square, axis=1)[:, None]
    rows = np.zeros(len(corners), dtype=[("square", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")])
    rows["square"] = np.divide(square, long, out=np.zeros_like(square), where=long > 0)
    rows["corners"] = corners
    return HEADER.ljust(80, b" ") + struct.pack("<I", len(corners)) + rows.tobytes()


def shaded(part: Part) -> tuple[Floats, Floats, Faces]:
    """Points, the direction square to the skin at each, and faces; points on a sharp edge are there once for each side."""
    corners = part.points_mm[part.faces]
    area = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    square = area / np.maximum(np.linalg.norm(area, axis=1), 1e-30)[:, None]
    at = part.faces.ravel()
    order = np.argsort(at, kind="stable")
    face_of = order // 3
    starts = np.searchsorted(at[order], np.arange(len(part.points_mm)))
    counts = np.diff(np.append(starts, len(at)))
    # Every pair of corners that share a point: the direction at one is summed from those of its like-minded neighbours.
    first = np.repeat(np.arange(len(at)), np.repeat(counts, counts))
    begin = np.repeat(np.repeat(starts, counts), np.repeat(counts, counts))
    offset = np.arange(len(first)) - np.repeat(np.cumsum(np.repeat(counts, counts)), np.repeat(counts, counts))
    second = begin + offset + np.repeat(np.repeat(counts, counts), np.repeat(counts, counts))
    one, other = face_of[first], face_of[second]
    alike = np.einsum("ij,ij->i", square[one], square[other]) > np.cos(np.radians(CREASE_DEG))
    direction = np.zeros((len(at), 3))
    for axis in range(3):
        direction[:, axis] = np.bincount(first[alike], area[other[alike], axis], minlength=len(at))
    direction /= np.maximum(np.linalg.norm(direction, axis=1), 1e-30)[:, None]
    keys = np.column_stack([at[order], np.round(direction * 1000)]).astype(np.int64)
    _, kept, placed = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    faces = np.empty(len(at), np.int64)
    faces[order] = placed.ravel()
    return part.points_mm[at[order][kept]], direction[kept], faces.reshape(-1, 3)


def glb(solid: Solid, name: str = "piece", stage: str = "fired") -> bytes:
    """Binary glTF 2.0 with a mesh for each part, in metres, y up and the handle to the right; the same for the same piece.

    Args:
        solid: the piece in mm.
        name: of the piece.
        stage: for the colour of the clay, one of `STAGE_COLOURS`; any other is shown as fired.
    Source: Khronos glTF 2.0 specification, sections 3.6 (accessors), 3.7 (meshes), 4 (GLB).
    """
    packed = bytearray()
    views: list[dict[str, int]] = []
    accessors: list[dict[str, object]] = []

    def add(array: np.ndarray, target: int, kind: str, component: int, **more: object) -> int:
        packed.extend(b"\0" * (-len(packed) % 4))
        raw = array.tobytes()
        views.append({"buffer": 0, "byteOffset": len(packed), "byteLength": len(raw), "target": target})
        packed.extend(raw)
        count = len(array) if array.ndim > 1 else array.size
        accessors.append(
            {"bufferView": len(views) - 1, "componentType": component, "count": count, "type": kind, **more}
        )
        return len(accessors) - 1

    meshes = []
    for part in solid.parts:
        points, direction, faces = shaded(part)
        places = _y_up(points / MM_PER_M)
        small = len(points) <= MOST_SHORT
        primitive = {
            "attributes": {
                "POSITION": add(
                    places, POINTS, "VEC3", FLOATS, min=places.min(axis=0).tolist(), max=places.max(axis=0).tolist()
                ),
                "NORMAL": add(_y_up(direction), POINTS, "VEC3", FLOATS),
            },
            "indices": add(
                faces.ravel().astype("<u2" if small else "<u4"), PLACES, "SCALAR", SHORTS if small else INTEGERS
            ),
            "material": 0,
        }
        meshes.append({"name": part.name, "primitives": [primitive]})
    packed.extend(b"\0" * (-len(packed) % 4))
    colour = [*(round(each**2.2, 4) for each in STAGE_COLOURS.get(stage, STAGE_COLOURS["fired"])), 1.0]
    says = {
        "asset": {"version": "2.0", "generator": "Wareboard"},
        "scene": 0,
        "scenes": [{"name": f"{name}, {stage}", "nodes": list(range(len(meshes)))}],
        "nodes": [{"mesh": number, "name": mesh["name"]} for number, mesh in enumerate(meshes)],
        "meshes": meshes,
        "materials": [
            {
                "name": f"clay, {stage}",
                "pbrMetallicRoughness": {"baseColorFactor": colour, "metallicFactor": 0.0, "roughnessFactor": 0.9},
            }
        ],
        "accessors": accessors,
        "bufferViews": views,
        "buffers": [{"byteLength": len(packed)}],
    }
    words = json.dumps(says, ensure_ascii=True, separators=(",", ":"), allow_nan=False).encode()
    words += b" " * (-len(words) % 4)
    chunks = struct.pack("<II", len(words), JSON_CHUNK) + words
    chunks += struct.pack("<II", len(packed), BINARY_CHUNK) + bytes(packed)
    return struct.pack("<III", GLTF, 2, 12 + len(chunks)) + chunks


def _y_up(points: Floats) -> np.ndarray:
    return np.column_stack([points[:, 0], points[:, 2], -points[:, 1]]).astype("<f4")
