"""A solid as a file that other programs open: binary glTF for looking at, STL for printing.

STL says no unit; by custom its numbers are taken as mm. glTF is in metres with y up (glTF 2.0 specification, 3.4).
"""

from __future__ import annotations

import io
import json
import struct
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from wareboard.form.curve import Floats
from wareboard.form.solid import Faces, Part, Solid

if TYPE_CHECKING:
    from wareboard.form.skin import Skin

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
LINEAR, REPEAT, CLAMP = 9729, 10497, 33071
# A line of a mark, dark on any clay; more than the sides of any ring, for telling corners apart.
MARK_COLOUR = (0.12, 0.07, 0.05)
SEAM = 4096


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


def glb(
    solid: Solid, name: str = "piece", stage: str = "fired", mark: Part | None = None, skin: Skin | None = None
) -> bytes:
    """Binary glTF 2.0 with a mesh for each part, in metres, y up and the handle to the right; the same for the same piece.

    Args:
        solid: the piece in mm, made fine.
        name: of the piece.
        stage: for the colour of the clay, one of `STAGE_COLOURS`; any other is shown as fired.
        mark: lines on the wall as a surface of their own, from `wareboard.form.ribbon`.
        skin: a picture round the body, as the base colour of the faces that it covers.
    Raises:
        OutOfRange: if the skin is not of this solid's profile.
    Source: Khronos glTF 2.0 specification, sections 3.6 (accessors), 3.7 (meshes), 3.9 (materials), 4 (GLB).
    """
    packed = Packed()
    clay = (skin.ground if skin else None) or STAGE_COLOURS.get(stage, STAGE_COLOURS["fired"])
    materials = [_plain(f"clay, {stage}", clay)]
    meshes: list[dict[str, object]] = []
    for part in solid.parts:
        if skin is not None and part is solid.parts[0]:
            primitives = _skinned(packed, part, skin, 0, 1)
        else:
            primitives = [packed.primitive(*shaded(part), 0)]
        meshes.append({"name": part.name, "primitives": primitives})
    textures: dict[str, object] = {}
    if skin is not None:
        textures = packed.texture(_png(skin))
        look = {"baseColorTexture": {"index": 0}, "metallicFactor": 0.0, "roughnessFactor": 0.7}
        materials.append({"name": f"{skin.name}, {stage}: preview", "pbrMetallicRoughness": look})
    if mark is not None:
        meshes.append({"name": mark.name, "primitives": [packed.primitive(*shaded(mark), len(materials))]})
        materials.append({**_plain(mark.name, MARK_COLOUR), "doubleSided": True})
    says = {
        "asset": {"version": "2.0", "generator": "Wareboard"},
        "scene": 0,
        "scenes": [{"name": f"{name}, {stage}", "nodes": list(range(len(meshes)))}],
        "nodes": [{"mesh": number, "name": mesh["name"]} for number, mesh in enumerate(meshes)],
        "meshes": meshes,
        "materials": materials,
        **textures,
    }
    return packed.closed(says)


def _plain(name: str, colour: tuple[float, float, float]) -> dict[str, object]:
    factor = [*(round(each**2.2, 4) for each in colour), 1.0]
    return {
        "name": name,
        "pbrMetallicRoughness": {"baseColorFactor": factor, "metallicFactor": 0.0, "roughnessFactor": 0.9},
    }


def _skinned(packed: Packed, body: Part, skin: Skin, bare: int, covered: int) -> list[dict[str, object]]:
    """Two primitives: what the picture leaves free, and what it covers with its corners' places in the picture."""
    points, direction, faces = shaded(body)
    places, under = skin.co_ordinates(body)
    found = []
    if not under.all():
        kept, renumbered = np.unique(faces[~under], return_inverse=True)
        found.append(packed.primitive(points[kept], direction[kept], renumbered.reshape(-1, 3), bare))
    corners, at = faces[under].ravel(), places[under].reshape(-1, 2)
    # The same point is there once for each place in the picture: the seam, and the middle of a floor.
    keys = corners * SEAM + np.round(at[:, 0] * (SEAM - 1)).astype(np.int64)
    _, first, renumbered = np.unique(keys, return_index=True, return_inverse=True)
    kept = corners[first]
    found.append(packed.primitive(points[kept], direction[kept], renumbered.reshape(-1, 3), covered, at[first]))
    return found


def _png(skin: Skin) -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.fromarray(skin.rgb).save(out, "PNG")
    return out.getvalue()


class Packed:
    """The binary part of a file as it grows, with what tells its pieces apart."""

    def __init__(self) -> None:
        self.bytes = bytearray()
        self.views: list[dict[str, int]] = []
        self.accessors: list[dict[str, object]] = []

    def primitive(
        self, points_mm: Floats, direction: Floats, faces: Faces, material: int, uv: Floats | None = None
    ) -> dict[str, object]:
        """Faces with their points, directions and places in a picture (n, 2), added; what tells a mesh of them."""
        places = _y_up(points_mm / MM_PER_M)
        bounds = {"min": places.min(axis=0).tolist(), "max": places.max(axis=0).tolist()}
        attributes = {
            "POSITION": self._add(places, POINTS, "VEC3", FLOATS, **bounds),
            "NORMAL": self._add(_y_up(direction), POINTS, "VEC3", FLOATS),
        }
        if uv is not None:
            attributes["TEXCOORD_0"] = self._add(uv.astype("<f4"), POINTS, "VEC2", FLOATS)
        small = len(points_mm) <= MOST_SHORT
        kind, wide = (SHORTS, "<u2") if small else (INTEGERS, "<u4")
        indices = self._add(faces.ravel().astype(wide), PLACES, "SCALAR", kind)
        return {"attributes": attributes, "indices": indices, "material": material}

    def texture(self, png: bytes) -> dict[str, object]:
        """One picture added: what tells of it, its sampler and its image."""
        view = self._view(png)
        return {
            "images": [{"bufferView": view, "mimeType": "image/png"}],
            "samplers": [{"magFilter": LINEAR, "minFilter": LINEAR, "wrapS": REPEAT, "wrapT": CLAMP}],
            "textures": [{"sampler": 0, "source": 0}],
        }

    def closed(self, says: dict[str, object]) -> bytes:
        """The whole file, with what ``says`` besides where its bytes are."""
        self._align()
        whole = {
            **says,
            "accessors": self.accessors,
            "bufferViews": self.views,
            "buffers": [{"byteLength": len(self.bytes)}],
        }
        words = json.dumps(whole, ensure_ascii=True, separators=(",", ":"), allow_nan=False).encode()
        words += b" " * (-len(words) % 4)
        chunks = struct.pack("<II", len(words), JSON_CHUNK) + words
        chunks += struct.pack("<II", len(self.bytes), BINARY_CHUNK) + bytes(self.bytes)
        return struct.pack("<III", GLTF, 2, 12 + len(chunks)) + chunks

    def _align(self) -> None:
        self.bytes.extend(b"\0" * (-len(self.bytes) % 4))

    def _view(self, raw: bytes, **more: int) -> int:
        self._align()
        self.views.append({"buffer": 0, "byteOffset": len(self.bytes), "byteLength": len(raw), **more})
        self.bytes.extend(raw)
        return len(self.views) - 1

    def _add(self, array: np.ndarray, target: int, kind: str, component: int, **more: object) -> int:
        view = self._view(array.tobytes(), target=target)
        count = len(array) if array.ndim > 1 else array.size
        self.accessors.append({"bufferView": view, "componentType": component, "count": count, "type": kind, **more})
        return len(self.accessors) - 1


def _y_up(points: Floats) -> np.ndarray:
    return np.column_stack([points[:, 0], points[:, 2], -points[:, 1]]).astype("<f4")
