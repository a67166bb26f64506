"""Rendered pictures of a coin, a card, a marker or nothing on flat metal, with everything about them known. Chance by seed."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
COINS = {"dime": (17.91, 1.35), "cent": (19.05, 1.52), "nickel": (21.21, 1.95), "quarter": (24.26, 1.75), "dollar": (26.49, 2.0)}
CARD = (85.6, 53.98)
SILVER, COPPER, BRASS = (196, 196, 192), (176, 112, 72), (190, 165, 95)


@dataclass(frozen=True, slots=True)
class Camera:
    """A pinhole with one radial term. size : (width, height). focal : pixels. bend : per squared half diagonal.

    turn (3, 3), move (3,): world millimetres (metal is z = 0, up towards the camera is +z) to camera.
    """

    size: tuple[int, int]
    focal: float
    bend: float
    turn: Floats
    move: Floats

    def seen(self, points: npt.ArrayLike) -> Floats:
        """World points (k, 3) or (k, 2) on the metal as pixels (k, 2)."""
        given = np.asarray(points, float)
        if given.shape[1] == 2:
            given = np.column_stack([given, np.zeros(len(given))])
        placed = given @ self.turn.T + self.move
        straight = placed[:, :2] / placed[:, 2:] * self.focal
        half = np.hypot(*self.size) / 2
        return straight * (1 + self.bend * (straight**2).sum(1, keepdims=True) / half**2) + np.array(self.size) / 2 - 0.5

    def on_metal(self, x: Floats, y: Floats, z: float) -> tuple[Floats, Floats]:
        """Where the rays of pixels x, y meet the height z."""
        half = np.hypot(*self.size) / 2
        px, py = x - self.size[0] / 2 + 0.5, y - self.size[1] / 2 + 0.5
        sx, sy = px, py
        for _ in range(3):
            grow = 1 + self.bend * (sx**2 + sy**2) / half**2
            sx, sy = px / grow, py / grow
        back = self.turn.T
        eye = -back @ self.move
        dx = (back[0, 0] * sx + back[0, 1] * sy) / self.focal + back[0, 2]
        dy = (back[1, 0] * sx + back[1, 1] * sy) / self.focal + back[1, 2]
        dz = (back[2, 0] * sx + back[2, 1] * sy) / self.focal + back[2, 2]
        far = (z - eye[2]) / dz
        return eye[0] + far * dx, eye[1] + far * dy


@dataclass(frozen=True, slots=True)
class Scene:
    """image : uint8 (height, width, 3), red first. middle : of the object in pixels. pixels : its size. tilt : degrees."""

    image: npt.NDArray[np.uint8]
    camera: Camera
    middle: Floats
    pixels: float
    tilt: float
    rng: np.random.Generator

    def spots(self, count: int, reach: float) -> tuple[Floats, Floats]:
        """Points on the metal (count, 2) in mm within `reach` of the object and in the picture, and their taps."""
        found: list[Floats] = []
        while len(found) < count:
            spot = self.rng.uniform(-reach, reach, 2)
            seen = self.camera.seen(spot[None])[0]
            if np.hypot(*spot) <= reach and (seen > 15).all() and (seen < np.array(self.camera.size) - 15).all():
                found.append(spot)
        world = np.array(found)
        return world, self.camera.seen(world) + self.rng.normal(0, 1.0, (count, 2))


def camera_at(rng: np.random.Generator, across: float, share: float, tilt: float, size: tuple[int, int] = (1200, 900)) -> Camera:
    """A camera tilted by `tilt` degrees, from which `across` mm fill `share` of the picture's width, somewhere in its middle."""
    equivalent = rng.choice([24.0, 26.0, 28.0]) * np.exp(rng.normal(0, 0.03))
    focal = equivalent / 43.27 * np.hypot(*size)
    toward, spin = rng.uniform(0, 2 * np.pi, 2)
    lean, _ = cv2.Rodrigues(np.radians(tilt) * np.array([np.cos(toward), np.sin(toward), 0]))
    flip = np.diag([1.0, -1.0, -1.0])
    turned, _ = cv2.Rodrigues(np.array([0, 0, spin]))
    away = focal * across / (share * size[0])
    place = rng.uniform(-0.22, 0.22, 2) * np.array(size) / focal * away
    bend = rng.normal(0, 0.01)
    sight = np.array([place[0], place[1], away])
    turn = np.asarray(lean @ flip @ turned, dtype=np.float64)
    return Camera(size, focal, bend, turn, sight)


def _noise(rng: np.random.Generator, shape: tuple[int, int], step: float) -> Floats:
    small = rng.normal(size=(max(2, int(shape[0] / step)), max(2, int(shape[1] / step)))).astype(np.float32)
    return np.asarray(cv2.resize(small, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC), dtype=np.float64)


def metal(rng: np.random.Generator, side: int = 1024) -> npt.NDArray[np.uint8]:
    """A square of painted, rusty, primed or brushed metal or concrete, uint8 (side, side, 3)."""
    grain = sum(weight * _noise(rng, (side, side), step) for weight, step in ((1, 200), (0.7, 60), (0.5, 16), (0.4, 4)))
    fine = _noise(rng, (side, side), 1.5)
    kind = rng.integers(5)
    paints = [(120, 30, 25), (40, 70, 110), (230, 225, 210), (60, 90, 60), (30, 30, 32), (205, 170, 60)]
    paint = np.array(paints[rng.integers(len(paints))], float)
    rust = np.array([115, 62, 32]) + 28 * grain[..., None] * np.array([1, 0.7, 0.5]) + 16 * fine[..., None]
    if kind == 0:
        image = rust
    elif kind == 1:
        mask = 1 / (1 + np.exp(-6 * (grain - 0.8)))[..., None]
        image = paint * (1 - mask) + rust * mask + 4 * fine[..., None]
    elif kind == 2:
        image = paint + 5 * grain[..., None] + 4 * fine[..., None]
    elif kind == 3:
        streaks = cv2.resize(rng.normal(size=(side, 8)).astype(np.float32), (side, side), interpolation=cv2.INTER_LINEAR)
        image = 135 + 14 * streaks[..., None] + 8 * grain[..., None] + np.zeros(3)
    else:
        image = np.array([150, 146, 138]) + 14 * grain[..., None] + 14 * fine[..., None]
    canvas = image.clip(0, 255).astype(np.uint8)
    for _ in range(rng.integers(0, 8)):  # scratches and seams
        ends = rng.integers(0, side, 4)
        shade = tuple(int(v) for v in rng.integers(20, 230, 3))
        cv2.line(canvas, (int(ends[0]), int(ends[1])), (int(ends[2]), int(ends[3])), shade, int(rng.integers(1, 4)), cv2.LINE_AA)
    for _ in range(rng.integers(0, 4)):  # dark round holes and stains
        spot = rng.integers(0, side, 2)
        cv2.circle(canvas, (int(spot[0]), int(spot[1])), int(rng.integers(4, 18)), (25, 20, 18), -1, cv2.LINE_AA)
    return canvas


def coin_face(rng: np.random.Generator, name: str, side: int = 320) -> npt.NDArray[np.uint8]:
    """A worn coin from above, uint8 (side, side, 3): rim, lettering round it, a relief in the middle."""
    base = np.array(COPPER if name == "cent" else BRASS if name == "dollar" else SILVER, float) * rng.uniform(0.6, 1.05)
    raised = np.zeros((side, side), np.uint8)
    middle = side // 2
    cv2.circle(raised, (middle, middle), int(side * 0.485), 255, int(side * rng.uniform(0.02, 0.045)))
    for step in range(24):
        angle = step / 24 * 2 * np.pi
        if rng.random() < 0.6:
            spot = (int(middle + side * 0.38 * np.cos(angle)) - 8, int(middle + side * 0.38 * np.sin(angle)) + 8)
            cv2.putText(raised, chr(65 + int(rng.integers(26))), spot, cv2.FONT_HERSHEY_SIMPLEX, side / 450, 200, 2)
    lump = (_noise(rng, (side, side), side / 6) + 0.6 * _noise(rng, (side, side), side / 14)).astype(np.float32)
    y, x = np.mgrid[:side, :side] - middle
    height = raised.astype(np.float32) / 255
    height += np.where(np.hypot(x, y) < side * 0.3, lump * 0.8, 0)
    height = cv2.GaussianBlur(height, (0, 0), 2)
    angle = rng.uniform(0, 2 * np.pi)
    light = cv2.Sobel(height, cv2.CV_32F, 1, 0) * np.cos(angle) + cv2.Sobel(height, cv2.CV_32F, 0, 1) * np.sin(angle)
    sheen = rng.uniform(-0.25, 0.25) * (x * np.cos(angle) + y * np.sin(angle)) / middle
    face = base * (1 + sheen[..., None]) * (1 + 0.9 * light[..., None]) + 5 * _noise(rng, (side, side), 2)[..., None]
    return face.clip(0, 255).astype(np.uint8)


def card_face(rng: np.random.Generator, wide: int = 856, high: int = 540) -> npt.NDArray[np.uint8]:
    """An invented card, uint8 (high, wide, 3): plain or two-coloured, with lines of text, a chip and a stripe."""
    colour = rng.integers(20, 250, 3)
    face = np.full((high, wide, 3), colour, np.uint8)
    if rng.random() < 0.5:
        cv2.rectangle(face, (0, int(high * 0.68)), (wide, int(high * 0.86)), tuple(int(v) for v in rng.integers(0, 255, 3)), -1)
    cv2.rectangle(face, (90, 200), (200, 290), (205, 180, 90), -1)
    for row in range(3):
        text = "".join(chr(48 + int(v)) for v in rng.integers(0, 10, 16))
        cv2.putText(face, text, (90, 350 + 60 * row), cv2.FONT_HERSHEY_SIMPLEX, 1.3, (240, 240, 240), 3, cv2.LINE_AA)
    return face


def _blend(base: npt.NDArray[np.uint8], over: npt.NDArray[np.uint8], where: npt.NDArray[np.bool_]) -> npt.NDArray[np.uint8]:
    return np.where(where[..., None], over, base)


def _grid(camera: Camera, window: tuple[int, int, int, int] | None = None) -> tuple[Floats, Floats]:
    """Pixel places of the whole picture, or twice as fine of a window (left, top, right, bottom)."""
    left, top, right, bottom = window or (0, 0, *camera.size)
    fine = 2 if window else 1
    y, x = np.mgrid[: (bottom - top) * fine, : (right - left) * fine].astype(np.float32)
    return left + (x + 0.5) / fine - 0.5, top + (y + 0.5) / fine - 0.5


def _window(camera: Camera, wide: float, high: float) -> tuple[int, int, int, int]:
    """The part of the picture that an object of wide x high mm and its shadow take."""
    corners = [[sx * wide, sy * high, z] for sx in (-0.7, 0.7) for sy in (-0.7, 0.7) for z in (0.0, 2.5)]
    seen = camera.seen(corners)
    low, top = seen.min(axis=0).clip(0).astype(int), seen.max(axis=0).astype(int) + 1
    return int(low[0]), int(low[1]), int(min(top[0], camera.size[0])), int(min(top[1], camera.size[1]))


def _base(camera: Camera, rng: np.random.Generator, zoom: float) -> npt.NDArray[np.uint8]:
    u, v = camera.on_metal(*_grid(camera), 0.0)
    columns, rows = (u * zoom + 512).astype(np.float32), (v * zoom + 512).astype(np.float32)
    return np.asarray(cv2.remap(metal(rng), columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT), dtype=np.uint8)


def _lay(image: npt.NDArray[np.uint8], window: tuple[int, int, int, int], draw) -> npt.NDArray[np.uint8]:
    """`draw`, from and to a part twice as fine, done in the window of the picture."""
    left, top, right, bottom = window
    part = image[top:bottom, left:right]
    fine = cv2.resize(part, None, fx=2, fy=2, interpolation=cv2.INTER_LINEAR)
    out = image.copy()
    out[top:bottom, left:right] = cv2.resize(draw(fine), (right - left, bottom - top), interpolation=cv2.INTER_AREA)
    return out


def _shade(image: npt.NDArray[np.uint8], camera: Camera, x: Floats, y: Floats, thick: float, inside, rng: np.random.Generator):
    """The shadow that an object of height `thick` throws on the metal beside it."""
    slope, angle = rng.uniform(0.3, 2.0), rng.uniform(0, 2 * np.pi)
    u, v = camera.on_metal(x, y, 0.0)
    shadow = np.zeros(u.shape, np.float32)
    for part in np.linspace(0.2, 1, 4):
        shift = thick * slope * part
        shadow = np.maximum(shadow, inside(u - shift * np.cos(angle), v - shift * np.sin(angle)).astype(np.float32))
    soft = cv2.GaussianBlur(shadow, (0, 0), 2.0)
    return (image * (1 - 0.45 * soft[..., None])).astype(np.uint8)


def finish(image: npt.NDArray[np.uint8], rng: np.random.Generator, blur: float = -1.0) -> npt.NDArray[np.uint8]:
    """Lamp fall-off, a highlight, a long shadow, lens blur, noise and JPEG."""
    height, width = image.shape[:2]
    y, x = np.mgrid[:height, :width] / np.array([height, width])[:, None, None]
    lit = image.astype(np.float32) * (1 + 0.3 * rng.uniform(-1, 1) * (x - 0.5) + 0.3 * rng.uniform(-1, 1) * (y - 0.5))[..., None]
    if rng.random() < 0.4:
        cx, cy, spread = [*rng.uniform(0, 1, 2).tolist(), rng.uniform(0.02, 0.08)]
        lit += 110 * np.exp(-((x - cx) ** 2 + (y - cy) ** 2) / 2 / spread**2)[..., None]
    if rng.random() < 0.4:
        edge = (x - rng.uniform(0.2, 0.8)) * np.cos(angle := rng.uniform(0, 6.28)) + (y - rng.uniform(0.2, 0.8)) * np.sin(angle)
        lit *= (1 - 0.45 / (1 + np.exp(-edge * 120)))[..., None]
    blurred = cv2.GaussianBlur(lit.astype(np.float32), (0, 0), rng.uniform(0.5, 1.6) if blur < 0 else max(blur, 0.3))
    noisy = blurred + rng.uniform(1, 6) * rng.standard_normal(blurred.shape, dtype=np.float32)
    _, data = cv2.imencode(
        ".jpg", noisy.clip(0, 255).astype(np.uint8)[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(70, 95))]
    )
    return np.ascontiguousarray(cv2.imdecode(data, cv2.IMREAD_COLOR)[..., ::-1])


def coin_scene(
    seed: int, name: str = "quarter", *, tilt: float | None = None, share: float | None = None, blur: float = -1.0
) -> Scene:
    """A coin lying at (0, 0) on flat metal; share : of the picture's width that 1 coin fills."""
    rng = np.random.default_rng([seed, 1])
    lean = float(rng.uniform(0, 48)) if tilt is None else tilt
    part = float(rng.uniform(0.06, 0.2)) if share is None else share
    diameter, _ = COINS[name]
    camera = camera_at(rng, diameter, part, lean)
    return Scene(
        finish(coin_image(camera, rng, name), rng, blur), camera, camera.seen([[0, 0]])[0], part * camera.size[0], lean, rng
    )


def coin_image(camera: Camera, rng: np.random.Generator, name: str) -> npt.NDArray[np.uint8]:
    diameter, _ = COINS[name]
    base = _base(camera, rng, 1024 / (diameter * rng.uniform(6, 14)))
    return lay_coin(base, camera, rng, name, (0.0, 0.0))


def lay_coin(
    base: npt.NDArray[np.uint8], camera: Camera, rng: np.random.Generator, name: str, at: tuple[float, float]
) -> npt.NDArray[np.uint8]:
    """The coin laid on the metal at `at` mm: a low cylinder, its rim darker or lighter than its face."""
    diameter, thick = COINS[name]
    window = _window(camera, diameter + 2 * abs(at[0]) / 0.7, diameter + 2 * abs(at[1]) / 0.7)
    x, y = _grid(camera, window)

    def inside(u: Floats, v: Floats) -> npt.NDArray[np.bool_]:
        return np.asarray(np.hypot(u - at[0], v - at[1]) < diameter / 2, dtype=bool)

    def draw(image: npt.NDArray[np.uint8]) -> npt.NDArray[np.uint8]:
        image = _shade(image, camera, x, y, thick, inside, rng)
        face = coin_face(rng, name)
        rim = (face.mean(axis=(0, 1)) * rng.uniform(0.4, 0.8)).astype(np.uint8)
        for height in np.linspace(0, thick, 5):
            u, v = camera.on_metal(x, y, float(height))
            image = _blend(image, np.broadcast_to(rim, image.shape), inside(u, v))
        zoom = len(face) / diameter
        columns, rows = (u - at[0] + diameter / 2) * zoom - 0.5, (v - at[1] + diameter / 2) * zoom - 0.5
        return _blend(image, cv2.remap(face, columns.astype(np.float32), rows.astype(np.float32), cv2.INTER_LINEAR), inside(u, v))

    return _lay(base, window, draw)


def quad_scene(
    seed: int, kind: str = "card", *, tilt: float | None = None, share: float | None = None, blur: float = -1.0
) -> Scene:
    """A card, or a printed marker of 50 mm on white paper, at (0, 0) on flat metal."""
    rng = np.random.default_rng([seed, 2])
    lean = float(rng.uniform(0, 50)) if tilt is None else tilt
    part = float(rng.uniform(0.14, 0.4)) if share is None else share
    wide, high = CARD if kind == "card" else (50.0, 50.0)
    thick, corner = (0.76, 3.18) if kind == "card" else (0.1, 0.0)
    if kind == "card":
        face, edge = card_face(rng), 0.0
    else:
        drawn = cv2.aruco.generateImageMarker(
            cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50), int(rng.integers(50)), 480
        )
        face, edge = (
            cv2.copyMakeBorder(cv2.cvtColor(drawn, cv2.COLOR_GRAY2RGB), 96, 96, 96, 96, cv2.BORDER_CONSTANT, value=(245,) * 3),
            10.0,
        )
    camera = camera_at(rng, wide, part, lean)
    half = np.array([wide, high]) / 2 + edge

    def inside(u: Floats, v: Floats) -> npt.NDArray[np.bool_]:
        over = np.hypot(np.maximum(np.abs(u) - half[0] + corner, 0), np.maximum(np.abs(v) - half[1] + corner, 0))
        return np.asarray(over <= max(corner, 1e-9), dtype=bool)

    base = _base(camera, rng, 1024 / (wide * rng.uniform(3, 8)))
    window = _window(camera, wide + 2 * edge, high + 2 * edge)
    x, y = _grid(camera, window)
    u, v = camera.on_metal(x, y, thick)
    columns, rows = (u + half[0]) / 2 / half[0] * face.shape[1] - 0.5, (half[1] - v) / 2 / half[1] * face.shape[0] - 0.5
    over = cv2.remap(face, columns.astype(np.float32), rows.astype(np.float32), cv2.INTER_AREA, borderMode=cv2.BORDER_REPLICATE)
    image = _lay(base, window, lambda part: _blend(_shade(part, camera, x, y, thick, inside, rng), over, inside(u, v)))
    return Scene(finish(image, rng, blur), camera, camera.seen([[0, 0]])[0], part * camera.size[0], lean, rng)
