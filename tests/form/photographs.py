"""Pictures of invented pieces with known truth, ray by ray: full perspective, shading, soft shadow, wood or plain, noise.

The scene is a distance field (the body turned about its axis, a strap, a table, a wall), walked along every ray from the
eye; no ring is ever projected, so nothing is shared with the code that reads the pictures. Drawn the same for the same seed.

Source: J. C. Hart, Sphere tracing, The Visual Computer 12, 1996; soft shadows by the least ratio of distance to way, as is
common practice.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import gaussian_filter, map_coordinates
from skimage.color import rgb2lab

from wareboard.form.profile import Profile, standard

Floats = NDArray[np.float64]
CELL_MM = 0.5
GLAZES = {
    "white": (232, 228, 220), "celadon": (150, 178, 158), "blue": (52, 78, 128), "iron": (74, 44, 30),
    "oatmeal": (214, 200, 172), "black": (38, 36, 38), "red": (150, 50, 38), "grey": (128, 130, 132),
}  # fmt: skip
GROUNDS = {"pale": (224, 224, 226), "dark": (70, 72, 78), "sand": (206, 192, 170), "green": (96, 120, 104)}
WOODS = {"oak": (176, 132, 88), "walnut": (104, 72, 50), "pine": (212, 176, 126)}
LIGHT = np.array([-0.45, -0.5, 0.74]) / np.linalg.norm([-0.45, -0.5, 0.74])


@dataclass(frozen=True)
class Scene:
    """What is photographed and how; lengths in mm, angles in degrees."""

    profile: Profile
    glaze: str = "blue"
    ground: str = "pale"
    handle: int = 0  # -1 left, 1 right, 0 none
    handle_turn: float = 0.0  # towards the camera
    distance: float = 480.0  # of the eye from the axis, level
    elevation: float = 14.0  # of the eye over the middle of the piece
    roll: float = 0.0
    focal: float = 1.1  # in long sides of the picture
    aim: tuple[float, float] = (0.0, 0.0)  # where the piece stands in the picture, shares of the width off its middle
    noise: float = 4.0
    shadow: float = 0.4
    wall: float = 0.0  # how far behind the piece a wall of another tone stands; 0 for none
    sheet: tuple[float, float] | None = None  # a sheet of paper lies with its middle there on the table
    sheet_mm: tuple[float, float] = (297.0, 210.0)  # A4
    sheet_turn: float = 0.0  # of its long side from the picture's own side to side
    sheet_tone: tuple[int, int, int] = (240, 240, 236)
    seed: int = 0
    size: tuple[int, int] = (640, 480)


class Field:
    """Distances to the parts of a scene, mm, from maps of the section and of the strap."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        profile = scene.profile
        self.top, self.wide = profile.height_mm + 12.0, profile.widest_mm / 2 + 12.0
        loop = np.vstack([profile.outer_mm, profile.inner_mm[::-1]])
        self.section = _section_map(loop, self.top, self.wide)
        self.strap: Floats | None = None
        if scene.handle:
            tall = profile.height_mm
            line = handle_line(scene)
            self.reach = float(line[:, 1].max()) + 0.3 * tall
            self.strap = _line_map(line, self.top, self.reach) - 0.0375 * tall
        turn = np.radians(scene.handle_turn)
        self.out = np.array([scene.handle * np.cos(turn), -np.sin(turn)])

    def body(self, places: Floats) -> Floats:
        away = np.hypot(places[:, 0], places[:, 1])
        return _looked_up(self.section, places[:, 2], away)

    def handle(self, places: Floats) -> Floats:
        if self.strap is None:
            return np.full(len(places), 1e9)
        along = places[:, :2] @ self.out
        side = places[:, 0] * self.out[1] - places[:, 1] * self.out[0]
        round_mm = 2.0
        flat = _looked_up(self.strap, places[:, 2], along) + round_mm
        thick = np.abs(side) - 0.085 * self.scene.profile.height_mm + round_mm
        outside = np.hypot(np.maximum(flat, 0), np.maximum(thick, 0))
        return np.asarray(outside + np.minimum(np.maximum(flat, thick), 0) - round_mm)

    def ware(self, places: Floats) -> Floats:
        return np.minimum(self.body(places), self.handle(places))


def _section_map(loop: Floats, top: float, wide: float) -> Floats:
    """Distance to the edge of the clay over the half plane (height from -12 mm, radius), below 0 within the clay."""
    from skimage.measure import grid_points_in_poly

    away = _line_map(loop, top, wide)
    inside = grid_points_in_poly(away.shape, (loop + np.array([12.0, 0.0])) / CELL_MM)
    return np.where(inside, -away, away)


def _line_map(line: Floats, top: float, reach: float) -> Floats:
    from scipy.spatial import cKDTree

    up, out = np.meshgrid(np.arange(-12.0, top, CELL_MM), np.arange(0.0, reach, CELL_MM), indexing="ij")
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    at = np.linspace(0, along[-1], int(along[-1] / 0.05))
    fine = np.column_stack([np.interp(at, along, line[:, axis]) for axis in (0, 1)])
    away, _ = cKDTree(fine).query(np.column_stack([up.ravel(), out.ravel()]))
    return np.asarray(away.reshape(up.shape))


def _looked_up(table: Floats, up: Floats, out: Floats) -> Floats:
    """Distance in a map by four cells; outside of it, from its edge and the way to it."""
    row, column = (up + 12.0) / CELL_MM, out / CELL_MM
    inner_row, inner_column = np.clip(row, 0, table.shape[0] - 1.001), np.clip(column, 0, table.shape[1] - 1.001)
    r, c = inner_row.astype(np.intp), inner_column.astype(np.intp)
    a, b = inner_row - r, inner_column - c
    near = (table[r, c] * (1 - b) + table[r, c + 1] * b) * (1 - a)
    near += (table[r + 1, c] * (1 - b) + table[r + 1, c + 1] * b) * a
    beyond = np.hypot(row - inner_row, column - inner_column) * CELL_MM
    return np.asarray(near + 0.7 * beyond)


def handle_line(scene: Scene) -> Floats:
    """(n, 2) of (height, distance from the axis): the middle of the strap, from wall to wall."""
    tall = scene.profile.height_mm
    turn = np.linspace(-np.pi / 2, np.pi / 2, 60)
    height = tall * (0.5 + 0.3 * np.sin(turn))
    root = np.interp(height, *scene.profile.outer_mm[scene.profile.standing :].T)
    return np.column_stack([height, root - 1.0 + 0.34 * tall * np.cos(turn)])


def _eye(scene: Scene) -> tuple[Floats, Floats]:
    """Place of the eye, and (3, 3) rows: right, up, ahead."""
    lift = np.radians(scene.elevation)
    place = np.array([0.0, -scene.distance, scene.profile.height_mm / 2 + scene.distance * np.tan(lift)])
    share = scene.size[0] / max(scene.size) / scene.focal
    pitch, yaw = lift - np.arctan(scene.aim[1] * share), np.arctan(-scene.aim[0] * share)
    ahead = np.array([np.sin(yaw) * np.cos(pitch), np.cos(yaw) * np.cos(pitch), -np.sin(pitch)])
    right = np.array([np.cos(yaw), -np.sin(yaw), 0.0])
    up = np.cross(right, ahead)
    roll = np.radians(scene.roll)
    return place, np.array([np.cos(roll) * right - np.sin(roll) * up, np.sin(roll) * right + np.cos(roll) * up, ahead])


def _walk(field: Field, start: Floats, ways: Floats, first: Floats, last: Floats) -> Floats:
    """How far each ray runs until it meets ware; endless where it does not."""
    far = first.copy()
    met = np.full(len(ways), np.inf)
    going = np.flatnonzero(first < last)
    for _ in range(140):
        if not len(going):
            break
        away = field.ware(start + far[going, None] * ways[going])
        hit = away < 0.03
        met[going[hit]] = far[going[hit]]
        far[going] += np.maximum(0.9 * away, 0.02)
        going = going[~hit & (far[going] < last[going])]
    return met


def _shade_of_table(field: Field, floor: Floats) -> Floats:
    """Share of the light that reaches places on the table, 1 in the open; a soft edge as from a window."""
    scene = field.scene
    reach = 3.0 * max(scene.profile.height_mm, scene.profile.widest_mm)
    side = np.linspace(-reach, reach, 260)
    x, y = (each.ravel() for each in np.meshgrid(side, side))
    grid = np.column_stack([x, y, np.zeros_like(x)])
    far, soft = np.ones(len(grid)), np.ones(len(grid))
    for _ in range(40):
        going = far < 3 * reach
        away = field.ware(grid[going] + far[going, None] * LIGHT)
        soft[going] = np.minimum(soft[going], np.clip(0.5 + 5.0 * away / far[going], 0.0, 1.0))
        far[going] += np.maximum(away, 1.5)
    shade = map_coordinates(
        soft.reshape(260, 260), (floor[:, 1::-1].T + reach) / (side[1] - side[0]), order=1, cval=1.0
    )
    return np.asarray(shade)


def _normals(field: Field, places: Floats) -> Floats:
    step = 0.7
    found = np.column_stack([field.ware(places + step * axis) - field.ware(places - step * axis) for axis in np.eye(3)])
    return np.asarray(found / (np.linalg.norm(found, axis=1, keepdims=True) + 1e-12))


def _table_colours(scene: Scene, floor: Floats, rng: np.random.Generator) -> Floats:
    if scene.ground in GROUNDS:
        fade = 1.0 + 0.0002 * floor[:, 0] + 0.00012 * floor[:, 1]
        found = np.array(GROUNDS[scene.ground]) * np.clip(fade, 0.7, 1.2)[:, None]
    else:
        grain = gaussian_filter(rng.normal(size=(256, 256)), (14, 1.2), mode="wrap") * 8.0
        u, v = (floor[:, 0] * 0.35).astype(int) % 256, (floor[:, 1] * 1.3).astype(int) % 256
        # The wood runs from side to side; its planks are joined every 110 mm.
        across = floor[:, 1] / 110.0
        joint = np.abs(across - np.round(across)) < 0.008
        tone = 1 + 0.07 * grain[v, u] + rng.normal(0, 0.06, 64)[np.floor(across).astype(int) % 64]
        found = np.array(WOODS[scene.ground]) * np.where(joint, 0.72 * tone, tone)[:, None]
    if scene.sheet is not None:
        turn = np.radians(scene.sheet_turn)
        to = floor[:, :2] - np.array(scene.sheet)
        along, across = to @ [np.cos(turn), np.sin(turn)], to @ [-np.sin(turn), np.cos(turn)]
        on = (np.abs(along) < scene.sheet_mm[0] / 2) & (np.abs(across) < scene.sheet_mm[1] / 2)
        found[on] = scene.sheet_tone
    return np.asarray(found)


def photograph(scene: Scene, fine: int = 2) -> NDArray[np.uint8]:
    """(height, width, 3) picture of a scene, seen through ``fine`` rays each way in every dot."""
    rng = np.random.default_rng(scene.seed)
    field = Field(scene)
    place, frame = _eye(scene)
    wide, high = (side * fine for side in scene.size)
    x, y = np.meshgrid((np.arange(wide) + 0.5) - wide / 2, (np.arange(high) + 0.5) - high / 2)
    focal = scene.focal * max(wide, high)
    ways = np.column_stack([x.ravel(), -y.ravel(), np.full(x.size, focal)]) @ frame
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    colours = _background(scene, field, place, ways, rng)
    first, last = _ball(place, ways, scene)
    met = _walk(field, place, ways, first, last)
    hit = np.flatnonzero(np.isfinite(met))
    colours[hit] = _ware_colours(field, place + met[hit, None] * ways[hit], ways[hit])
    picture = colours.reshape(scene.size[1], fine, scene.size[0], fine, 3).mean(axis=(1, 3))
    picture = gaussian_filter(picture, (0.6, 0.6, 0))
    noisy = picture + rng.normal(0, scene.noise, picture.shape)
    kept = io.BytesIO()
    Image.fromarray(np.clip(noisy, 0, 255).astype(np.uint8)).save(kept, "JPEG", quality=88)
    return np.asarray(Image.open(kept).convert("RGB"))


def _background(scene: Scene, field: Field, place: Floats, ways: Floats, rng: np.random.Generator) -> Floats:
    down = np.minimum(ways[:, 2], -1e-4)
    floor = place - (place[2] / down)[:, None] * ways
    colours = _table_colours(scene, floor, rng) * (1 - scene.shadow * (1 - _shade_of_table(field, floor)))[:, None]
    if scene.wall:
        behind = floor[:, 1] > scene.wall
        rise = place[2] + (scene.wall - place[1]) / np.maximum(ways[:, 1], 1e-3) * ways[:, 2]
        tone = np.array([206, 204, 198]) * (1 + 0.0003 * rise)[:, None]
        colours[behind] = tone[behind]
    return colours


def _ball(place: Floats, ways: Floats, scene: Scene) -> tuple[Floats, Floats]:
    """Where each ray comes into and leaves the ball about the ware."""
    tall = scene.profile.height_mm
    reach = np.hypot(tall / 2, scene.profile.widest_mm / 2 + (0.45 * tall if scene.handle else 0)) + 4
    to = np.array([0, 0, tall / 2]) - place
    along = ways @ to
    apart = reach**2 - (to @ to - along**2)
    half = np.sqrt(np.maximum(apart, 0))
    return along - half, np.where(apart > 0, along + half, -1.0)


def _ware_colours(field: Field, places: Floats, ways: Floats) -> Floats:
    scene = field.scene
    normal = _normals(field, places)
    away = np.hypot(places[:, 0], places[:, 1])
    inside = (normal[:, :2] * places[:, :2]).sum(axis=1) < -0.2 * away
    shine = np.maximum(0.0, normal @ LIGHT)
    half = LIGHT - ways
    half /= np.linalg.norm(half, axis=1, keepdims=True)
    gloss = np.maximum(0.0, (normal * half).sum(axis=1)) ** 60
    light = 0.42 + 0.55 * shine
    # The inside gets less of the room's light the deeper it is.
    deep = np.clip((scene.profile.height_mm - places[:, 2]) / scene.profile.height_mm, 0, 1)
    light = np.where(inside, light * (0.95 - 0.5 * deep), light)
    return np.asarray(np.array(GLAZES[scene.glaze]) * light[:, None] + 110.0 * gloss[:, None])


def far_apart(glaze: tuple[int, ...], ground: tuple[int, ...]) -> bool:
    """Whether an eye sees an edge between a glaze in any light and a ground in the open: CIE 1976 distance of 14 or more."""
    lit = np.array([[np.array(glaze) * light / 255.0 for light in (0.45, 0.6, 0.75, 0.95)]])
    apart = rgb2lab(lit) - rgb2lab(np.array([[np.array(ground) / 255.0]]))
    return float(np.linalg.norm(apart, axis=2).min()) >= 14.0


def scene_number(seed: int, size: tuple[int, int] = (640, 480)) -> Scene:
    """An invented scene of its own for each seed: shape, glaze, ground, handle, eye and light all drawn by lot."""
    rng = np.random.default_rng([seed, 11])
    name = str(rng.choice(["cylinder", "taper", "belly", "bowl", "jug", "lidded jar"]))
    height = float(rng.uniform(70, 140))
    across: dict[str, float] = {"bowl": 1.7, "jug": 0.62, "lidded jar": 0.8}
    rim = height * across.get(name, float(rng.uniform(0.75, 1.0)))
    profile = standard(name, height, rim)
    ground = str(rng.choice([*GROUNDS, *WOODS, *WOODS]))
    while True:
        glaze = str(rng.choice(list(GLAZES)))
        if far_apart(GLAZES[glaze], {**GROUNDS, **WOODS}[ground]):
            break
    focal = float(rng.choice([0.72, 1.1, 1.45, 2.1]))
    most = max(height, profile.widest_mm * 1.15)
    share = float(rng.uniform(0.36, 0.55)) * min(size) / max(size)
    distance = max(3.0 * most, focal * most / share)
    # From a little above the rim: lower the mouth is not seen, higher the foot is hidden under a belly.
    lowest = float(np.degrees(np.arctan(0.56 * height / distance)))
    elevation = float(rng.uniform(lowest, max(lowest + 2, 20.0)))
    handle = 0 if name in ("bowl", "lidded jar") else int(rng.choice([-1, 0, 1]))
    return Scene(
        profile, glaze, ground, handle, float(rng.uniform(-12, 12)), distance, elevation,
        float(rng.uniform(-5, 5)), focal, (float(rng.uniform(-0.1, 0.1)), float(rng.uniform(-0.05, 0.1))),
        float(rng.uniform(2, 7)), float(rng.uniform(0.2, 0.5)), seed=seed, size=size,
    )  # fmt: skip


def enlarged(scene: Scene, size: tuple[int, int]) -> Scene:
    """The same scene taken with more dots."""
    return replace(scene, size=size)


def truth_mm(scene: Scene, heights_mm: Floats) -> Floats:
    """True radii at heights above the foot."""
    line = scene.profile.outer_mm[scene.profile.standing :]
    return np.asarray(np.interp(heights_mm, line[:, 0], line[:, 1]))
