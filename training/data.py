"""Loads what pack.py wrote, onto one device, and draws training samples from it."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import torch
from torch import Tensor
from torch.nn import functional as F

from mixing import Bank
from net import CHANNELS
from optics import blur, chance, uniform, window
from synth import scene

PATCH = 256
# the bits of a render's mask (render/metal.SEEN) by channel; what a render does not know of is not judged
BITS = {"scale": 32, "bubbling": 2, "hole": 16, "fresh-coating": 4, "staining": 8}


@dataclass(frozen=True)
class Real:
    """One labelled picture: (3, M, N) in 0..1, labels (1, M, N) 0 not rust, 1 rust, 2 not known."""

    name: str
    source: str
    picture: Tensor
    label: Tensor


def _read(path: Path, device: torch.device) -> Tensor:
    image = cv2.cvtColor(cv2.imread(str(path)), cv2.COLOR_BGR2RGB)
    return torch.from_numpy(image).to(device).permute(2, 0, 1).float() / 255


def reals(folder: Path, device: torch.device) -> list[Real]:
    """All labelled pictures."""
    found = []
    for entry in json.loads((folder / "list.json").read_text()):
        label = cv2.imread(str(folder / "real" / f"{entry['file']}.png"), cv2.IMREAD_GRAYSCALE)
        picture = _read(folder / "real" / f"{entry['file']}.jpg", device)
        found.append(Real(entry["name"], entry["source"], picture, torch.from_numpy(label).to(device)[None].float()))
    return found


class Renders:
    """Rendered vehicles (render/many.py) on a device; windows of them with the seven masks, 2 where not judged."""

    def __init__(self, folder: Path, device: torch.device, side: int = 512) -> None:
        pictures, masks = [], []
        for path in sorted(folder.glob("*.jpg")):
            mask = cv2.cvtColor(cv2.imread(str(path.with_suffix(".png"))), cv2.COLOR_BGR2RGB)
            image = cv2.cvtColor(cv2.imread(str(path)), cv2.COLOR_BGR2RGB)
            layers = [mask[..., 0]]
            layers += [
                ((mask[..., 1] & BITS[name]) > 0).astype(np.uint8) if name in BITS else mask[..., 0] * 0 + 2
                for name in CHANNELS[1:]
            ]
            stack = np.dstack(layers)
            # to one size: the short side fills it, what is left over is mirrored
            zoom = side / max(image.shape[:2])
            size = (round(image.shape[1] * zoom), round(image.shape[0] * zoom))
            image = cv2.resize(image, size, interpolation=cv2.INTER_LINEAR)
            rest = ((0, side - size[1]), (0, side - size[0]), (0, 0))
            pictures.append(np.pad(image, rest, mode="symmetric"))
            channels = [cv2.resize(stack[..., k], size, interpolation=cv2.INTER_NEAREST) for k in range(stack.shape[2])]
            masks.append(np.pad(np.dstack(channels), rest, mode="symmetric"))
        self.count = len(pictures)
        if pictures:
            self._pictures = torch.from_numpy(np.stack(pictures)).to(device).permute(0, 3, 1, 2).contiguous()
            self._masks = torch.from_numpy(np.stack(masks)).to(device).permute(0, 3, 1, 2).contiguous()

    def draw(self, count: int, size: int) -> tuple[Tensor, Tensor]:
        """`count` windows (count, 3, S, S) and masks (count, 7, S, S)."""
        which = torch.randint(self.count, (count,), device=self._pictures.device)
        grid = window(count, size, self._pictures.device, low=0.35, high=1.0, turn=0.35, lean=0.15)
        picture = F.grid_sample(self._pictures[which].float() / 255, grid, padding_mode="reflection", align_corners=False)
        masks = F.grid_sample(self._masks[which].float(), grid, mode="nearest", padding_mode="reflection", align_corners=False)
        return picture, masks


def _squares(real: Real, count: int, rng: np.random.Generator) -> list[Tensor]:
    """Square pieces that lie wholly inside the marked rust."""
    inside = (real.label[0] == 1).cpu().numpy().astype(np.uint8)
    depth = cv2.distanceTransform(np.pad(inside, 1), cv2.DIST_L2, 5)[1:-1, 1:-1]
    ys, xs = np.nonzero(depth > 22)
    pieces = []
    for i in rng.permutation(len(ys))[:count]:
        half = int(min(depth[ys[i], xs[i]] * 0.72, 110, ys[i], xs[i], inside.shape[0] - 1 - ys[i], inside.shape[1] - 1 - xs[i]))
        if half < 14:
            continue
        piece = real.picture[None, :, ys[i] - half : ys[i] + half, xs[i] - half : xs[i] + half]
        pieces.append(F.interpolate(piece, size=(PATCH, PATCH), mode="bilinear", align_corners=False)[0])
    return pieces


def _square(picture: Tensor, side: int = 512) -> Tensor:
    """The middle of a picture as a square; a strip is mirrored first."""
    high, wide = picture.shape[1:]
    while max(high, wide) > 1.9 * min(high, wide):
        along = 1 if high < wide else 2
        picture = torch.cat([picture, picture.flip(along)], along)
        high, wide = picture.shape[1:]
    least = min(high, wide)
    top, left = (high - least) // 2, (wide - least) // 2
    piece = picture[None, :, top : top + least, left : left + least]
    return F.interpolate(piece, size=(side, side), mode="bilinear", align_corners=False)[0]


def bank(
    folder: Path,
    real: list[Real],
    device: torch.device,
    seed: int,
    *,
    all_clean: bool = True,
    often: float = 1.0,
    bars: float = 1.0,
) -> Bank:
    """Textures for the generator: real rust only from the pictures given; no `clean_apart`, so that it stays held out.

    often, bars : as in Bank; with `often` 0 nothing of what gather.py made is taken.
    """
    rng = np.random.default_rng(seed)
    textures = {path.stem: _read(path, device) for path in sorted((folder / "textures").iterdir())}
    rust = [piece for item in real for piece in _squares(item, 4, rng)]
    whole = textures["rust_metal_02_modified"]
    for _ in range(24):
        y, x = rng.integers(0, 512, 2)
        rust.append(F.interpolate(whole[None, :, y : y + 256, x : x + 256], size=(PATCH, PATCH))[0])
    for path in sorted((folder / "rusty").glob("*.jpg")) if often else ():
        sheet = _read(path, device)
        for _ in range(4):
            y, x = (int(rng.integers(0, max(1, n - 256))) for n in sheet.shape[1:])
            rust.append(F.interpolate(sheet[None, :, y : y + 256, x : x + 256], size=(PATCH, PATCH))[0])
    masked = torch.cat([textures["rust_metal053c"], textures["rust_metal053c_mask"][:1]])
    orange = textures["rust_metal_05"]
    strength = ((orange.max(0).values - orange.min(0).values) * 4 - 1.2).clamp(0, 1)
    patterns = [F.interpolate(p[None], size=(512, 512))[0] for p in (masked, torch.cat([orange, strength[None]]))]
    plain = [F.interpolate(v[None], size=(512, 512))[0] for k, v in textures.items() if k.startswith(("negative", "metal"))]
    clean = []
    apart = () if all_clean else clean_apart(folder)
    for path in sorted((folder / "clean").iterdir()):
        if path in apart:
            continue
        picture = _read(path, device)
        side = min(picture.shape[1:])
        for at in {0, max(0, max(picture.shape[1:]) - side)}:
            square = (
                picture[:, at : at + side, :side] if picture.shape[1] > picture.shape[2] else picture[:, :side, at : at + side]
            )
            clean.append(F.interpolate(square[None], size=(512, 512), mode="area")[0])
    ground = [_square(_read(path, device)) for path in (sorted((folder / "ground").glob("*.jpg")) if often else ())]
    things = [
        torch.cat([_read(path, device), _read(path.with_suffix(".png"), device)[:1]])
        for path in (sorted((folder / "things").glob("*.jpg")) if often else ())
    ]
    none = torch.zeros(0, 4, 8, 8, device=device)
    more = [torch.stack(found) if found else none for found in (ground, things)]
    return Bank(torch.stack(rust), torch.stack(patterns), torch.stack(plain), torch.stack(clean), *more, often, bars)


def clean_apart(folder: Path) -> list[Path]:
    """Every fifth picture without rust: kept from all runs but the last, to count false alarms on."""
    return sorted((folder / "clean").iterdir())[::5]


def clean_held_out(folder: Path, device: torch.device) -> list[Real]:
    """Those pictures, labelled as having no rust."""
    pictures = [(path, _read(path, device)) for path in clean_apart(folder)]
    return [Real(f"clean/{path.stem}", "clean", picture, torch.zeros_like(picture[:1])) for path, picture in pictures]


def real_batch(real: list[Real], weights: Tensor, count: int, size: int) -> tuple[Tensor, Tensor]:
    """Random windows of labelled pictures: (count, 3, size, size) and labels (count, 1, size, size)."""
    chosen = torch.multinomial(weights, count, replacement=True).tolist()
    pictures, labels = [], []
    for i in chosen:
        item = real[i]
        high, wide = item.picture.shape[1:]
        grid = window(1, size, item.picture.device, low=0.4, high=1.8, turn=0.45, lean=0.2)
        # keep the picture's own proportions: the window is a square in pixels of its short side
        side = (high * wide) ** 0.5
        grid = grid * torch.tensor([side / wide, side / high], device=grid.device)
        picture = F.grid_sample(item.picture[None], grid, mode="bilinear", padding_mode="reflection", align_corners=False)
        label = F.grid_sample(item.label[None], grid, mode="nearest", padding_mode="reflection", align_corners=False)
        pictures.append(picture)
        labels.append(label)
    return torch.cat(pictures), torch.cat(labels)


def repaint(picture: Tensor, label: Tensor, share: float) -> Tensor:
    """Give what is not marked as rust another colour in a `share` of the pictures: paint comes in every colour, rust does not."""
    count, device = len(picture), picture.device
    angle = uniform(count, device, -math.pi, math.pi)
    grey = picture.mean(1, keepdim=True)
    r, g, b = (picture - grey).split(1, 1)
    # the colour turned about the grey axis
    cos, sin = angle.cos(), angle.sin() / math.sqrt(3)
    turned = torch.cat([r * cos + (b - g) * sin, g * cos + (r - b) * sin, b * cos + (g - r) * sin], 1)
    painted = (grey * uniform(count, device, 0.7, 1.3) + turned * uniform(count, device, 0.3, 1.3)).clamp(0, 1)
    bare = F.avg_pool2d((label == 0).float(), 9, 1, 4) * chance(count, device, share)
    return picture * (1 - bare) + painted * bare


def paste(picture: Tensor, label: Tensor, share: float) -> Tensor:
    """Lay the marked rust of one labelled picture over another in a `share` of them, in place in `label`: rust on any ground."""
    count, device = len(picture), picture.device
    order = torch.randperm(count, device=device)
    laid = blur((label[order] == 1).float(), 0.7) * chance(count, device, share)
    colour = (picture[order] * uniform(count, device, 0.75, 1.25)).clamp(0, 1)
    label[F.max_pool2d(laid, 5, 1, 2) > 0.1] = 2
    label[laid > 0.9] = 1
    return picture * (1 - laid) + colour * laid


def dated(pictures: Tensor, labels: Tensor, share: float) -> Tensor:
    """Print a date in red to yellow into a `share` of the pictures, as cameras do; in `labels` what it covers is no rust."""
    rng = np.random.default_rng(int(torch.randint(2**31, (1,))))
    size, device = pictures.shape[-1], pictures.device
    pictures = pictures.clone()
    for i in np.flatnonzero(rng.random(len(pictures)) < share):
        tall = rng.uniform(0.3, 1.2)
        forms = ["{0:02d}/{1:02d}/20{2:02d}", "{2:02d} {1} {0}", "20{2:02d}-{1:02d}-{0:02d} {2:02d}:{0:02d}", "{1} {0} '{2:02d}"]
        words = str(rng.choice(forms))
        text = words.format(*rng.integers(1, 29, 3))
        thick, face = (
            int(rng.integers(1, 3)),
            int(rng.choice([cv2.FONT_HERSHEY_SIMPLEX, cv2.FONT_HERSHEY_PLAIN, cv2.FONT_HERSHEY_DUPLEX])),
        )
        (wide, high), base = cv2.getTextSize(text, face, tall, thick)
        drawn = np.zeros((high + base + 2, min(wide, size - 2)), np.uint8)
        cv2.putText(drawn, text, (0, high), face, tall, 255, thick, cv2.LINE_AA)
        at = torch.from_numpy(drawn).to(device).float() / 255
        y = int(rng.choice([4, size - drawn.shape[0] - 4])) if rng.random() < 0.7 else rng.integers(size - drawn.shape[0])
        x = rng.integers(size - drawn.shape[1])
        where = (slice(y, y + drawn.shape[0]), slice(x, x + drawn.shape[1]))
        ink = torch.tensor([1.0, rng.uniform(0.1, 0.85), rng.uniform(0, 0.3)], device=device).view(3, 1, 1)
        ink = ink * rng.uniform(0.6, 1)
        pictures[(i, slice(None), *where)] = pictures[(i, slice(None), *where)] * (1 - at) + ink * at
        labels[i, 0][where] = torch.where(at > 0.3, 0.0, labels[i, 0][where])
    return pictures


class Stock:
    """Synthetic pictures held on a device: each is shown several times, under other cameras, before another takes its place."""

    def __init__(self, mixing: Bank, count: int, size: int, at_once: int = 24) -> None:
        self._mixing, self._size, self._next, self._due, self._at_once = mixing, size, 0, 0, at_once
        device = mixing.rust.device
        self._pictures = torch.empty(count, 3, size, size, dtype=torch.uint8, device=device)
        self._masks = torch.empty(count, 7, size, size, dtype=torch.uint8, device=device)
        for _ in range(0, count, at_once):
            self._renew(at_once)

    def _renew(self, count: int) -> None:
        picture, masks = scene(self._mixing, count, self._size)
        at = (torch.arange(count, device=picture.device) + self._next) % len(self._pictures)
        self._pictures[at] = (picture * 255).round().to(torch.uint8)
        self._masks[at] = masks.round().to(torch.uint8)
        self._next = (self._next + count) % len(self._pictures)

    def draw(self, count: int, fresh: int) -> tuple[Tensor, Tensor]:
        """`count` pictures (count, 3, S, S) and masks (count, 7, S, S), after about `fresh` of the stock were renewed."""
        self._due += fresh
        if self._due >= self._at_once:
            self._renew(self._at_once)
            self._due -= self._at_once
        which = torch.randint(len(self._pictures), (count,), device=self._pictures.device)
        picture, masks = self._pictures[which].float() / 255, self._masks[which].float()
        flip = chance(count, picture.device, 0.5)
        return torch.where(flip, picture.flip(3), picture), torch.where(flip, masks.flip(3), masks)
