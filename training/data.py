"""Loads what pack.py wrote, onto one device, and draws training samples from it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import torch
from torch import Tensor
from torch.nn import functional as F

from optics import window
from synth import Bank

PATCH = 256


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


def bank(folder: Path, real: list[Real], device: torch.device, seed: int, *, all_clean: bool = True) -> Bank:
    """Textures for the generator: real rust only from the pictures given; no `clean_apart`, so that it stays held out."""
    rng = np.random.default_rng(seed)
    textures = {path.stem: _read(path, device) for path in sorted((folder / "textures").iterdir())}
    rust = [piece for item in real for piece in _squares(item, 4, rng)]
    whole = textures["rust_metal_02_modified"]
    for _ in range(24):
        y, x = rng.integers(0, 512, 2)
        rust.append(F.interpolate(whole[None, :, y : y + 256, x : x + 256], size=(PATCH, PATCH))[0])
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
    return Bank(torch.stack(rust), torch.stack(patterns), torch.stack(plain), torch.stack(clean))


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
