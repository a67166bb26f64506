"""What the generator mixes, and how it picks from it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import torch
from torch import Tensor

from optics import uniform, warp


@dataclass(frozen=True)
class Bank:
    """What is mixed: rust (K, 3, P, P), patterns (K, 4, P, P: colour and mask), plain textures, pictures without rust.

    ground : photographed surfaces without rust. things : cut-outs without rust, colour and outline (K, 4, P, P). Both may be
    empty (gather.py). often : how often these two are laid on, 1 for a good fifth of the pictures each. bars : the same of dark
    profiles, 1 for a sixth of the pictures.
    """

    rust: Tensor
    patterns: Tensor
    plain: Tensor
    clean: Tensor
    ground: Tensor
    things: Tensor
    often: float = 1.0
    bars: float = 1.0


def pick(bank: Tensor, count: int, size: int, *, low: float, high: float) -> Tensor:
    """Random windows of random pictures of a bank, turned and scaled; `low`..`high` is the share of the picture seen."""
    which = torch.randint(len(bank), (count,), device=bank.device)
    return warp(bank[which], size, low=low, high=high, turn=math.pi)


def grey_detail(bank: Bank, count: int, size: int) -> Tensor:
    """The relief of a plain texture as a factor about 1."""
    grey = pick(bank.plain, count, size, low=0.3, high=1.0).mean(1, keepdim=True)
    return grey / grey.mean((2, 3), keepdim=True).clamp_min(0.05)


def half_plane(count: int, size: int, device: torch.device, reach: float = 0.8) -> Tensor:
    """Signed distance, in pixels, to a random line through the middle part of the picture."""
    angle = uniform(count, device, 0, 2 * math.pi)
    offset = uniform(count, device, -reach, reach) * size / 2
    axis = torch.arange(size, device=device, dtype=torch.float32) - size / 2
    return axis.view(1, 1, 1, -1) * angle.cos() + axis.view(1, 1, -1, 1) * angle.sin() - offset
