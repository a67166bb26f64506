"""Synthetic truth: painted metal with rust, scale, blisters, holes, stains, coatings and patches, with exact masks.

Everything is drawn for a whole batch at once with tensors, on whatever device the generator lives on. Pictures are (B, 3, S, S)
in 0..1 (sRGB); the seven masks of net.CHANNELS are (B, 7, S, S) in 0..1, and 2 where a pixel must not be judged.
"""

from __future__ import annotations

import math

import torch
from torch import Tensor
from torch.nn import functional as F

from beside import brown_things, cut_outs, profiles, surroundings
from mixing import Bank, grey_detail, half_plane, pick
from optics import blur, chance, hsv_to_rgb, noise, plasma, uniform


def _threshold(field: Tensor, share: Tensor) -> Tensor:
    """The level that leaves `share` of the field above it, one per picture."""
    thin = field[:, 0, ::8, ::8].flatten(1)
    levels = thin.sort(1, descending=True).values
    at = (share.view(-1) * (thin.shape[1] - 1)).long().clamp(0, thin.shape[1] - 1)
    return levels.gather(1, at[:, None]).view(-1, 1, 1, 1)


def _shade(height: Tensor, strength: Tensor) -> Tensor:
    """Light from one side on a relief, as an addition about 0."""
    angle = uniform(len(height), height.device, 0, 2 * math.pi)
    right = F.pad(height[..., 1:] - height[..., :-1], (0, 1))
    down = F.pad(height[..., 1:, :] - height[..., :-1, :], (0, 0, 0, 1))
    return strength * (right * angle.cos() + down * angle.sin())


def _paint_colour(count: int, device: torch.device) -> Tensor:
    """A paint: mostly any colour, often white, grey or black, sometimes brown, beige, orange or maroon."""
    hue, sat, val = uniform(count, device, 0, 1), uniform(count, device, 0.1, 0.9), uniform(count, device, 0.15, 0.95)
    plain = chance(count, device, 0.35)
    sat = torch.where(plain, sat * 0.12, sat)
    brown = chance(count, device, 0.18)
    hue = torch.where(brown, uniform(count, device, 0, 0.13), hue)
    return hsv_to_rgb(hue, sat, val)


def painted(bank: Bank, count: int, size: int) -> Tensor:
    """Painted metal: colour, folds, reflections, flake, dirt, scratches, gaps."""
    device = bank.rust.device
    picture = _paint_colour(count, device).expand(-1, -1, size, size)
    cloudy = torch.where(chance(count, device, 0.25), uniform(count, device, 0.1, 0.45), uniform(count, device, 0, 0.1))
    picture = picture * (1 + cloudy * plasma(count, size, device, 2))
    picture = picture * (
        1 + uniform(count, device, 0, 0.5) * torch.tanh(half_plane(count, size, device) / uniform(count, device, 60, 500))
    )
    band = half_plane(count, size, device)
    waves = torch.sin(band / uniform(count, device, 12, 200) + 2 * plasma(count, size, device, 2)) * uniform(
        count, device, 0, 0.2
    )
    picture = picture * (1 + waves * chance(count, device, 0.6))
    sky = torch.sigmoid(half_plane(count, size, device) / uniform(count, device, 2, 60)) * uniform(count, device, 0, 0.35)
    tint = torch.rand(count, 3, 1, 1, device=device) * 0.3 + 0.7
    picture = picture * (1 - sky) + sky * tint * chance(count, device, 0.85)
    picture = picture * (
        1 + (grey_detail(bank, count, size) - 1) * uniform(count, device, 0.05, 0.6) * chance(count, device, 0.35)
    )
    picture = picture * (1 + uniform(count, device, 0, 0.06) * noise(count, size, device))
    mirrored = pick(bank.clean, count, size, low=0.4, high=1.0)
    share = uniform(count, device, 0.05, 0.3) * chance(count, device, 0.25)
    picture = picture * (1 - share) + blur(mirrored, 2.0) * share
    dirt = torch.sigmoid(plasma(count, size, device, 4) * 4 - uniform(count, device, -1, 3)) * uniform(count, device, 0, 0.45)
    soil = hsv_to_rgb(uniform(count, device, 0.05, 0.12), uniform(count, device, 0.1, 0.45), uniform(count, device, 0.2, 0.6))
    dirt = dirt * chance(count, device, 0.4)
    picture = picture * (1 - dirt) + soil * dirt
    for _ in range(3):
        line = half_plane(count, size, device)
        wide = uniform(count, device, 0.6, 5)
        gap = torch.exp(-((line / wide) ** 2)) * chance(count, device, 0.3)
        shine = torch.exp(-(((line - 2 * wide) / wide) ** 2)) * chance(count, device, 0.3) * 0.3
        picture = picture * (1 - gap * uniform(count, device, 0.5, 0.95)) + shine
    return picture.clamp(0, 1)


def rust_colour(bank: Bank, count: int, size: int) -> Tensor:
    """Rust as cameras see it: photographed patches and a drawn brown-to-orange mix, shifted in colour and brightness."""
    device = bank.rust.device
    first, second = (pick(bank.rust, count, size, low=0.35, high=1.0) for _ in range(2))
    mix = torch.sigmoid(plasma(count, size, device, 4) * 4)
    real = first * mix + second * (1 - mix)
    tone = torch.sigmoid(plasma(count, size, device, 8) * uniform(count, device, 1, 3) + uniform(count, device, -1.5, 1.5))
    dark = hsv_to_rgb(uniform(count, device, 0.01, 0.07), uniform(count, device, 0.3, 0.75), uniform(count, device, 0.1, 0.35))
    bright = hsv_to_rgb(uniform(count, device, 0.03, 0.1), uniform(count, device, 0.3, 0.9), uniform(count, device, 0.4, 0.85))
    drawn = (dark * (1 - tone) + bright * tone) * (1 + 0.15 * noise(count, size, device))
    picture = torch.where(chance(count, device, 0.72), real, drawn)
    dull = hsv_to_rgb(
        uniform(count, device, 0.98, 1.07) % 1, uniform(count, device, 0.12, 0.45), uniform(count, device, 0.06, 0.5)
    )
    dull = dull * (1 + 0.12 * plasma(count, size, device, 6) + 0.08 * noise(count, size, device))
    picture = torch.where(chance(count, device, 0.22), dull, picture)
    relief = plasma(count, size, device, 16)
    picture = picture * (1 + _shade(relief, uniform(count, device, 0, 1.2)))
    return (picture * uniform(count, device, 0.6, 1.35)).clamp(0, 1)


def _rust_field(count: int, size: int, device: torch.device) -> Tensor:
    """How strongly each place rusts: cloudy noise, lifted along edges and seams."""
    field = plasma(count, size, device, int(torch.randint(2, 9, (1,))), rough=float(torch.rand(1) * 0.35 + 0.45))
    for _ in range(2):
        near = torch.exp(-half_plane(count, size, device).abs() / uniform(count, device, 6, 70))
        field = field + near * uniform(count, device, 0.5, 3) * chance(count, device, 0.4)
    spot = noise(count, size, device)
    spot = blur(spot, float(torch.rand(1) * 4 + 1.5))
    spot = spot / spot.std((2, 3), keepdim=True)
    speckled = chance(count, device, 0.22)
    return torch.where(speckled, 0.35 * field + spot, field + 0.1 * spot)


def scene(bank: Bank, count: int, size: int) -> tuple[Tensor, Tensor]:
    """A batch of synthetic pictures before the camera, with their masks."""
    device = bank.rust.device
    picture = painted(bank, count, size)
    field = _rust_field(count, size, device)
    share = torch.exp(uniform(count, device, math.log(0.004), math.log(0.85))) * chance(count, device, 0.85)
    most = chance(count, device, 0.25)
    share = torch.where(most & (share > 0), uniform(count, device, 0.5, 1.0), share)
    level = _threshold(field, share)
    level = torch.where(share > 0.97, level - 10, level)
    level = torch.where(share > 0, level, torch.full_like(level, 1e3))
    sharp = uniform(count, device, 3, 30)
    rust = torch.sigmoid((field - level) * sharp)

    # patterns photographed with their own masks
    pattern = pick(bank.patterns, count, size, low=0.4, high=1.0)
    use = chance(count, device, 0.15) * (share > 0)
    rust = torch.where(use > 0, pattern[:, 3:4] * torch.sigmoid(plasma(count, size, device, 2) * 6), rust)
    colour = torch.where(use > 0, pattern[:, :3], rust_colour(bank, count, size))

    # stain: a halo and runs below the rust
    halo = torch.sigmoid((field - level + uniform(count, device, 0.1, 0.9)) * uniform(count, device, 2, 8)) * uniform(
        count, device, 0, 0.5
    )
    long = int(torch.randint(20, 160, (1,)))
    streak = F.avg_pool2d(F.pad(rust, (1, 1, 2 * long, 0), mode="constant"), (2 * long + 1, 3), stride=1)
    streak = streak * (0.5 + torch.sigmoid(3 * plasma(count, size, device, 24)[:, :, :1])) * uniform(count, device, 0.3, 1.6)
    run = (streak * chance(count, device, 0.45)).clamp(0, 0.75)
    stain = torch.maximum(halo * chance(count, device, 0.6), run)
    brown = hsv_to_rgb(uniform(count, device, 0.04, 0.11), uniform(count, device, 0.4, 0.85), uniform(count, device, 0.35, 0.75))
    picture = picture * (1 - stain) + brown * stain * (0.4 + 0.6 * picture.mean(1, keepdim=True)) / 0.8

    # blisters under the paint
    lumps = blur(noise(count, size, device), float(torch.rand(1) * 7 + 2.5))
    lumps = lumps / lumps.std((2, 3), keepdim=True)
    dome = (lumps - uniform(count, device, 0.5, 1.5)).clamp(0, 1.5).add(1e-4).sqrt() - 0.01
    near = torch.sigmoid((field - _threshold(field, uniform(count, device, 0.03, 0.3) + share.clamp(max=0.5))) * 4)
    dome = dome * near * (1 - rust) * chance(count, device, 0.3)
    picture = picture * (1 + _shade(dome, uniform(count, device, 1.0, 5.0))) + 0.25 * (
        _shade(dome, uniform(count, device, 1, 3)).clamp(0.25, 1) - 0.25
    )
    bubbling = blur((dome > 0.15).float(), 2.0) > 0.2

    # rust, its rim and its relief
    rim = (rust * (1 - rust) * 4) * uniform(count, device, 0, 0.6)
    film = torch.where(chance(count, device, 0.3), uniform(count, device, 0.55, 0.95), uniform(count, device, 0.95, 1.0))
    picture = picture * (1 - rust * film) + colour * rust * film
    picture = picture * (1 - rim * chance(count, device, 0.5)) + rim * 0.12 * chance(count, device, 0.3)
    picture = picture * (1 + _shade(rust, uniform(count, device, -0.5, 1.2)))

    # scale: plates that stand off and throw shadows
    plates = plasma(count, size, device, 6)
    plates = torch.floor(plates * uniform(count, device, 2, 6)) / 3 + 0.15 * plasma(count, size, device, 24)
    scaly = (
        torch.sigmoid((plasma(count, size, device, 3) + uniform(count, device, -0.6, 0.8)) * 8)
        * (rust > 0.6)
        * chance(count, device, 0.35)
    )
    picture = (
        picture * (1 + scaly * _shade(plates, uniform(count, device, 0.5, 1.8))) * (1 - scaly * uniform(count, device, 0, 0.45))
    )

    # holes through rusty metal: dark or with daylight behind, a thin bright or brown rim
    deeper = field + 0.6 * plasma(count, size, device, 12)
    hole = (
        torch.sigmoid((deeper - _threshold(deeper, share * uniform(count, device, 0.05, 0.5))) * 25)
        * (rust > 0.7)
        * chance(count, device, 0.3)
        * (share > 0)
    )
    behind = uniform(count, device, 0, 0.1) * torch.ones_like(picture)
    light = torch.nonzero((torch.rand(count, device=device) < 0.2) & (hole.amax((1, 2, 3)) > 0))[:, 0]
    if len(light):
        behind[light] = surroundings(bank, len(light), size)
    picture = picture * (1 - hole) + behind * hole + _shade(hole, uniform(count, device, 0, 0.5)).clamp(0, 0.4)

    labels = [(blur(rust, 1.6) > 0.5), (scaly > 0.5) & (hole < 0.5), bubbling, hole > 0.5]
    masks = torch.cat([x.float() for x in labels], 1)
    picture, coated, patched, masks = _cover(bank, picture, masks)
    stained = ((stain > 0.22) & (rust < 0.4)).float() * (1 - coated)
    masks = torch.cat([masks, coated, stained, patched], 1)
    unsure = (((rust > 0.25) & (rust < 0.75)) | ((stain > 0.4) & (rust < 0.75))) & (coated < 0.5) & (patched < 0.5)
    masks[:, :1] = torch.where(unsure | ((hole > 0.3) & (coated < 0.5)), torch.full_like(rust, 2.0), masks[:, :1])
    return _place(bank, picture.clamp(0, 1), masks)


def _cover(bank: Bank, picture: Tensor, masks: Tensor) -> tuple[Tensor, Tensor, Tensor, Tensor]:
    """Fresh undercoat over everything, and patches with a weld bead or a filler edge."""
    count, _, size, _ = picture.shape
    device = picture.device
    side = half_plane(count, size, device) + 25 * plasma(count, size, device, 4)
    coat = torch.sigmoid(side / uniform(count, device, 1.5, 25)) * chance(count, device, 0.16)
    stipple = blur(noise(count, size, device), float(torch.rand(1) * 1.6 + 0.5))
    stipple = stipple / stipple.std((2, 3), keepdim=True)
    black = uniform(count, device, 0.02, 0.14) * (
        1 + _shade(stipple, uniform(count, device, 0.1, 0.8)) + 0.3 * plasma(count, size, device, 2)
    )
    black = black + (
        uniform(count, device, 0, 0.3) * torch.relu(_shade(stipple, torch.ones(count, 1, 1, 1, device=device)) - 0.6)
    )
    relief = picture.mean(1, keepdim=True)
    black = black * (1 + 0.6 * (relief / relief.mean((2, 3), keepdim=True).clamp_min(0.05) - 1).clamp(-0.6, 0.8))
    picture = picture * (1 - coat) + black.clamp(0, 1) * coat
    coated = (coat > 0.5).float()

    axis = torch.arange(size, device=device, dtype=torch.float32) - size / 2
    angle = uniform(count, device, -0.5, 0.5)
    x, y = (
        axis.view(1, 1, 1, -1) - uniform(count, device, -0.3, 0.3) * size,
        axis.view(1, 1, -1, 1) - uniform(count, device, -0.3, 0.3) * size,
    )
    u, v = x * angle.cos() + y * angle.sin(), y * angle.cos() - x * angle.sin()
    long, short = uniform(count, device, 0.1, 0.4) * size, uniform(count, device, 0.08, 0.3) * size
    out = torch.maximum(u.abs() - long, v.abs() - short) + 2 * plasma(count, size, device, 6)
    welded = chance(count, device, 0.09)
    wide = uniform(count, device, 2.5, 9)
    bead = torch.exp(-((out / wide) ** 4)) * welded
    scallop = torch.sin((u + v) / uniform(count, device, 1.2, 3.5) + 1.5 * (out / wide)) * 0.5
    steel = uniform(count, device, 0.25, 0.7) * (1 + 0.25 * scallop + _shade(bead, uniform(count, device, 0.3, 1.2)))
    inside = torch.sigmoid(-out) * welded
    sheet = _paint_colour(count, device) * (1 + 0.15 * plasma(count, size, device, 3))
    covers = chance(count, device, 0.6)
    picture = picture * (1 - inside * covers) + sheet.clamp(0, 1) * inside * covers
    picture = picture * (1 - bead) + steel.clamp(0, 1) * bead

    filled = chance(count, device, 0.09) * ~welded
    blob = torch.maximum(u.abs() / long, v.abs() / short) - 1 + 0.35 * plasma(count, size, device, 3)
    body = torch.sigmoid(-blob / uniform(count, device, 0.02, 0.12)) * filled
    putty = hsv_to_rgb(uniform(count, device, 0.0, 0.15), uniform(count, device, 0.03, 0.3), uniform(count, device, 0.5, 0.85))
    putty = putty * (1 + 0.06 * plasma(count, size, device, 6)) + 0.03 * noise(count, size, device)
    picture = picture * (1 - body) + putty * body
    patched = torch.maximum((bead > 0.5).float(), ((body > 0.08) & (body < 0.92)).float())
    hidden = (coat > 0.5) | (inside * covers > 0.5) | (bead > 0.5) | (body > 0.5)
    masks = torch.where(hidden, torch.zeros_like(masks), masks)
    return picture, coated, patched, masks


def _place(bank: Bank, picture: Tensor, masks: Tensor) -> tuple[Tensor, Tensor]:
    """Cut the metal to a shape, or show it small, before other things; then lay brown things over it."""
    count, _, size, _ = picture.shape
    device = picture.device
    around = surroundings(bank, count, size)
    shape = torch.ones(count, 1, size, size, device=device)
    for _ in range(3):
        plane = torch.sigmoid(
            half_plane(count, size, device, 0.9) + 6 * plasma(count, size, device, 3) * chance(count, device, 0.3)
        )
        shape = shape * torch.where(chance(count, device, 0.3) > 0, plane, torch.ones_like(plane))
    bars = torch.sigmoid(
        (torch.sin(half_plane(count, size, device) / uniform(count, device, 8, 60)) - uniform(count, device, -0.3, 0.6)) * 20
    )
    shape = shape * torch.where(chance(count, device, 0.12) > 0, bars, torch.ones_like(bars))
    drop = torch.roll(blur(shape, 6.0), (7, 5), (2, 3)) * uniform(count, device, 0, 0.5)
    picture = picture * shape + around * (1 - drop) * (1 - shape)
    masks = torch.where(shape > 0.5, masks, torch.zeros_like(masks))
    picture, masks = brown_things(bank, picture, masks)
    picture, masks = cut_outs(bank, picture, masks, 0.2)
    picture, masks = profiles(bank, picture, masks)
    shadow = (
        torch.sigmoid(half_plane(count, size, device) / uniform(count, device, 1, 20))
        * uniform(count, device, 0.2, 0.75)
        * chance(count, device, 0.3)
    )
    return far(bank, (picture * (1 - shadow)).clamp(0, 1), masks, 0.25)


def far(bank: Bank, picture: Tensor, masks: Tensor, share: float) -> tuple[Tensor, Tensor]:
    """Show a `share` of the pictures small, as a thing that stands in a larger picture without rust."""
    size, device = picture.shape[-1], picture.device
    at = torch.nonzero(torch.rand(len(picture), device=device) < share)[:, 0]
    count = len(at)
    if not count:
        return picture, masks
    zoom = torch.exp(uniform(count, device, math.log(1.6), math.log(4.5))).view(count, 1, 1)
    axis = torch.linspace(-1, 1, size, device=device)
    y, x = torch.meshgrid(axis, axis, indexing="ij")
    reach = 1 - 1 / zoom
    x = (x[None] - reach * (torch.rand(count, 1, 1, device=device) * 2 - 1)) * zoom
    y = (y[None] - reach * (torch.rand(count, 1, 1, device=device) * 2 - 1)) * zoom
    grid = torch.stack([x, y], -1)
    soft = blur(picture[at], 1.2)
    small = F.grid_sample(soft, grid, align_corners=False)
    marks = F.grid_sample(masks[at], grid, mode="nearest", align_corners=False)
    power = torch.where(torch.rand(count, 1, 1, device=device) < 0.5, 2.5, 12.0)
    radius = (x.abs() ** power + y.abs() ** power)[:, None]
    inside = torch.sigmoid((0.95 - radius) * 20)
    around = surroundings(bank, count, size)
    shown = (small * inside + around * (1 - inside)).clamp(0, 1)
    return picture.index_copy(0, at, shown), masks.index_copy(0, at, torch.where(inside > 0.5, marks, torch.zeros_like(marks)))
