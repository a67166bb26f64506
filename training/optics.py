"""What a phone does to a picture, and the small drawing tools that the generator shares: noise, blur, windows, colours."""

from __future__ import annotations

import math

import torch
from torch import Tensor
from torch.nn import functional as F


def uniform(count: int, device: torch.device, low: float, high: float) -> Tensor:
    """One number per picture, (count, 1, 1, 1)."""
    return torch.rand(count, 1, 1, 1, device=device) * (high - low) + low


def chance(count: int, device: torch.device, share: float) -> Tensor:
    """One yes (True) or no per picture; multiplies like 1 and 0."""
    return torch.rand(count, 1, 1, 1, device=device) < share


def noise(count: int, size: int, device: torch.device) -> Tensor:
    """White noise, one channel."""
    return torch.randn(count, 1, size, size, device=device)


def plasma(count: int, size: int, device: torch.device, base: int, rough: float = 0.55) -> Tensor:
    """Cloudy noise of mean 0 and spread 1: grids from `base` cells across upward, each finer one weaker by `rough`.

    Coarse grids are added up at a quarter of the size: nothing is lost there, and this is where most of the time went.
    """
    small = size // 4
    total = torch.zeros(count, 1, small, small, device=device)
    weight, cells = 1.0, base
    turn = torch.rand(count, 1, 1, 1, device=device) * 0.3 + rough - 0.15
    gain = torch.ones(count, 1, 1, 1, device=device)
    while cells < size // 2 and weight > 0.02:
        grid = torch.randn(count, 1, cells + 3, cells + 3, device=device)
        if cells > small // 4 and len(total[0, 0]) < size:
            total = F.interpolate(total, size=(size, size), mode="bicubic", align_corners=False)
        total = total + gain * F.interpolate(grid, size=total.shape[2:], mode="bicubic", align_corners=False)
        gain, cells, weight = gain * turn, cells * 2, weight * rough
    if len(total[0, 0]) < size:
        total = F.interpolate(total, size=(size, size), mode="bicubic", align_corners=False)
    total = total - total.mean((2, 3), keepdim=True)
    return total / total.std((2, 3), keepdim=True).clamp_min(1e-4)


def blur(picture: Tensor, sigma: float) -> Tensor:
    """Gaussian blur with reflected borders."""
    reach = max(1, min(int(3 * sigma + 0.5), min(picture.shape[-2:]) - 1))
    taps = torch.exp(-0.5 * (torch.arange(-reach, reach + 1, device=picture.device) / sigma) ** 2)
    taps = (taps / taps.sum()).to(picture.dtype)
    deep = picture.shape[1]
    row = taps.view(1, 1, 1, -1).expand(deep, 1, 1, -1)
    picture = F.conv2d(F.pad(picture, (reach, reach, 0, 0), mode="reflect"), row, groups=deep)
    return F.conv2d(F.pad(picture, (0, 0, reach, reach), mode="reflect"), row.transpose(2, 3), groups=deep)


def hsv_to_rgb(hue: Tensor, saturation: Tensor, value: Tensor) -> Tensor:
    """(B, 1, ...) each -> (B, 3, ...)."""
    k = (torch.tensor([5.0, 3.0, 1.0], device=hue.device).view(1, 3, 1, 1) + hue * 6) % 6
    return value - value * saturation * torch.clamp(torch.minimum(k, 4 - k), 0, 1)


def window(count: int, size: int, device: torch.device, *, low: float, high: float, turn: float, lean: float = 0.0) -> Tensor:
    """Sampling grids for random windows: `low`..`high` of the picture's side, turned up to `turn`, leaning up to `lean`."""
    scale = torch.exp(uniform(count, device, math.log(low), math.log(high))).view(count, 1, 1)
    squeeze = torch.exp(uniform(count, device, -0.25, 0.25)).view(count, 1, 1)
    angle = uniform(count, device, -turn, turn).view(count, 1, 1)
    axis = torch.linspace(-1, 1, size, device=device)
    v, u = torch.meshgrid(axis, axis, indexing="ij")
    u, v = u.expand(count, -1, -1) * scale * squeeze, v.expand(count, -1, -1) * scale / squeeze
    flip = torch.where(torch.rand(count, 1, 1, device=device) < 0.5, -1.0, 1.0)
    x, y = (u * angle.cos() - v * angle.sin()) * flip, u * angle.sin() + v * angle.cos()
    depth = (
        1
        + lean * (torch.rand(count, 1, 1, device=device) * 2 - 1) * x
        + lean * (torch.rand(count, 1, 1, device=device) * 2 - 1) * y
    )
    room = (1 - scale).clamp(0, 1)
    x = x / depth + room * (torch.rand(count, 1, 1, device=device) * 2 - 1)
    y = y / depth + room * (torch.rand(count, 1, 1, device=device) * 2 - 1)
    return torch.stack([x, y], -1)


def warp(pictures: Tensor, size: int, *, low: float, high: float, turn: float) -> Tensor:
    """Random windows of pictures, mirrored at their borders."""
    grid = window(len(pictures), size, pictures.device, low=low, high=high, turn=turn)
    return F.grid_sample(pictures, grid, mode="bilinear", padding_mode="reflection", align_corners=False)


_DCT = torch.tensor(
    [[math.sqrt((1 if k == 0 else 2) / 8) * math.cos(math.pi * (2 * n + 1) * k / 16) for n in range(8)] for k in range(8)]
)
_LUMA = torch.tensor(
    [
        [16, 11, 10, 16, 24, 40, 51, 61],
        [12, 12, 14, 19, 26, 58, 60, 55],
        [14, 13, 16, 24, 40, 57, 69, 56],
        [14, 17, 22, 29, 51, 87, 80, 62],
        [18, 22, 37, 56, 68, 109, 103, 77],
        [24, 35, 55, 64, 81, 104, 113, 92],
        [49, 64, 78, 87, 103, 121, 120, 101],
        [72, 92, 95, 98, 112, 100, 103, 99],
    ],
    dtype=torch.float32,
)


def jpeg(picture: Tensor, quality: Tensor) -> Tensor:
    """The loss of JPEG at `quality` (B, 1, 1, 1) in 1..100: 8x8 cosine blocks rounded, colour at half size."""
    device = picture.device
    q = torch.where(quality < 50, 5000 / quality, 200 - 2 * quality).view(-1, 1, 1, 1, 1, 1) / 100
    table = _LUMA.to(device)
    coarse = torch.full((8, 8), 99.0, device=device)
    coarse[:3, :3] = torch.tensor([[17.0, 18, 24], [18, 21, 26], [24, 26, 56]], device=device)
    r, g, b = (picture * 255).split(1, 1)
    y = 0.299 * r + 0.587 * g + 0.114 * b - 128
    chroma = torch.cat([0.5643 * (b - y - 128), 0.7133 * (r - y - 128)], 1)

    def rounded(plane: Tensor, steps: Tensor) -> Tensor:
        deep, high, wide = plane.shape[1:]
        dct = _DCT.to(device)
        blocks = plane.view(-1, deep, high // 8, 8, wide // 8, 8).permute(0, 1, 2, 4, 3, 5)
        step = (steps * q).clamp_min(1.0)
        found = torch.round(dct @ blocks @ dct.T / step) * step
        return (dct.T @ found @ dct).permute(0, 1, 2, 4, 3, 5).reshape(-1, deep, high, wide)

    y = rounded(y, table) + 128
    small = rounded(F.avg_pool2d(chroma, 2), coarse)
    cb, cr = F.interpolate(small, scale_factor=2.0, mode="bilinear", align_corners=False).split(1, 1)
    r, b = y + 1.402 * cr, y + 1.772 * cb
    g = (y - 0.299 * r - 0.114 * b) / 0.587
    return (torch.cat([r, g, b], 1) / 255).clamp(0, 1)


def photograph(picture: Tensor, hard: float = 1.0) -> Tensor:
    """A camera's doings: torch light, white balance, exposure, contrast, flare, blur, shake, noise, sharpening, JPEG."""
    count, _, size, _ = picture.shape
    device = picture.device
    axis = torch.linspace(-1, 1, size, device=device)
    x, y = axis.view(1, 1, 1, -1), axis.view(1, 1, -1, 1)
    reach = (x - uniform(count, device, -0.6, 0.6)) ** 2 + (y - uniform(count, device, -0.6, 0.6)) ** 2
    lamp = torch.exp(-reach / uniform(count, device, 0.15, 1.2)) * uniform(count, device, 1, 1.6) + uniform(
        count, device, 0.02, 0.3
    )
    picture = torch.where(chance(count, device, 0.12 * hard), picture * lamp, picture)
    picture = picture * (1 - uniform(count, device, 0, 0.35) * (x**2 + y**2) / 2 * chance(count, device, 0.5))
    warm = uniform(count, device, -0.22, 0.22) * hard
    green = uniform(count, device, -0.08, 0.08) * hard
    balance = torch.cat([1 + warm, 1 + green, 1 - warm], 1)
    picture = (picture * balance * torch.exp(uniform(count, device, -0.5, 0.35) * hard)).clamp(0, 1.3)
    picture = picture.clamp(1e-4, 1) ** torch.exp(uniform(count, device, -0.35, 0.35) * hard)
    contrast = torch.exp(uniform(count, device, -0.35, 0.3) * hard)
    middle = picture.mean((1, 2, 3), keepdim=True)
    picture = (picture - middle) * contrast + middle
    grey = picture.mean(1, keepdim=True)
    colour = torch.where(chance(count, device, 0.04), torch.zeros_like(middle), torch.exp(uniform(count, device, -0.6, 0.3)))
    picture = grey + (picture - grey) * colour
    local = blur(F.interpolate(picture, scale_factor=0.25, mode="area"), size / 40)
    local = F.interpolate(local, size=(size, size), mode="bilinear", align_corners=False)
    equalised = (picture - local) * uniform(count, device, 1.2, 2.2) + local * 0.7 + 0.15
    picture = torch.where(chance(count, device, 0.15 * hard), equalised, picture)
    flare = torch.exp(
        -((x - uniform(count, device, -1, 1)) ** 2 + (y - uniform(count, device, -1, 1)) ** 2) / uniform(count, device, 0.01, 0.4)
    )
    glow = torch.rand(count, 3, 1, 1, device=device) * 0.4 + 0.6
    picture = picture + flare * glow * uniform(count, device, 0.1, 0.8) * chance(count, device, 0.08)
    picture = picture.clamp(0, 1)
    soft = blur(picture, float(torch.rand(1) * 1.8 + 0.4))
    picture = torch.where(chance(count, device, 0.35), soft, picture)
    long = int(torch.randint(3, 13, (1,)))
    shaken = F.avg_pool2d(F.pad(picture, (long // 2, long - 1 - long // 2, 0, 0), mode="reflect"), (1, long), stride=1)
    picture = torch.where(chance(count, device, 0.06), shaken, picture)
    crisp = picture + (picture - blur(picture, 1.2)) * uniform(count, device, 0.3, 1.2)
    picture = torch.where(chance(count, device, 0.3), crisp, picture).clamp(0, 1)
    grain = torch.randn_like(picture) * (uniform(count, device, 0, 0.03) + uniform(count, device, 0, 0.04) * picture.sqrt())
    picture = (picture + grain * chance(count, device, 0.6)).clamp(0, 1)
    return torch.where(chance(count, device, 0.75), jpeg(picture, uniform(count, device, 35, 95)), picture)
