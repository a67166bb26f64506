"""What lies behind, beside or before painted metal: surroundings, brown things, cut-outs, dark profiles with and without rust."""

from __future__ import annotations

import math

import torch
from torch import Tensor
from torch.nn import functional as F

from mixing import Bank, grey_detail, half_plane, pick
from optics import blur, chance, hsv_to_rgb, noise, plasma, uniform


def surroundings(bank: Bank, count: int, size: int) -> Tensor:
    """What lies behind or beside the metal: pictures without rust and plain textures, some of them tinted brown."""
    device = bank.rust.device
    clean = pick(bank.clean, count, size, low=0.4, high=1.0)
    grey = grey_detail(bank, count, size)
    tint = hsv_to_rgb(uniform(count, device, 0.0, 0.14), uniform(count, device, 0.1, 0.75), uniform(count, device, 0.15, 0.75))
    tinted = (grey * tint * (1 + 0.4 * plasma(count, size, device, 2))).clamp(0, 1)
    plain = pick(bank.plain, count, size, low=0.4, high=1.0)
    choice = torch.rand(count, 1, 1, 1, device=device)
    found = torch.where(choice < 0.55, clean, torch.where(choice < 0.8, tinted, plain))
    if not len(bank.ground):
        return found
    return torch.where(chance(count, device, 0.24 * bank.often), pick(bank.ground, count, size, low=0.4, high=1.0), found)


def brown_things(bank: Bank, picture: Tensor, masks: Tensor) -> tuple[Tensor, Tensor]:
    """Brown, red and orange things that are not rust, laid over: wood, leather, soil, primer, lamps, leaves, tires."""
    every, _, size, _ = picture.shape
    device = picture.device
    for _ in range(3):
        at = torch.nonzero(torch.rand(every, device=device) < 0.28)[:, 0]
        count = len(at)
        if not count:
            continue
        centre = uniform(count, device, -0.5, 0.5) * size, uniform(count, device, -0.5, 0.5) * size
        axis = torch.arange(size, device=device, dtype=torch.float32) - size / 2
        angle = uniform(count, device, 0, math.pi)
        x, y = axis.view(1, 1, 1, -1) - centre[0], axis.view(1, 1, -1, 1) - centre[1]
        u, v = x * angle.cos() + y * angle.sin(), y * angle.cos() - x * angle.sin()
        long, short = uniform(count, device, 0.05, 0.4) * size, uniform(count, device, 0.03, 0.25) * size
        power = torch.where(chance(count, device, 0.5), 2.0, 8.0)
        radius = ((u / long).abs() ** power + (v / short).abs() ** power + 1e-6) ** (1 / power)
        radius = radius + 0.15 * plasma(count, size, device, 4) * chance(count, device, 0.5)
        shape = torch.sigmoid((1 - radius) * short / uniform(count, device, 0.8, 3))
        hue = torch.where(chance(count, device, 0.7), uniform(count, device, 0.0, 0.12), uniform(count, device, 0, 1))
        tint = hsv_to_rgb(hue, uniform(count, device, 0.2, 0.95), uniform(count, device, 0.15, 0.9))
        detail = 1 + (grey_detail(bank, count, size) - 1) * uniform(count, device, 0, 1)
        round_shade = 1.15 - 0.5 * radius.clamp(0, 1.2) * chance(count, device, 0.6)
        gloss = torch.exp(-(((u - long * 0.3) / (long * 0.2)) ** 2 + ((v - short * 0.3) / (short * 0.2)) ** 2))
        thing = tint * detail * round_shade * (1 + 0.2 * plasma(count, size, device, 2)) + gloss * uniform(count, device, 0, 0.6)
        tread = 0.12 + 0.06 * torch.sign(torch.sin(u / 4) * torch.sin(v / 5 + torch.sin(u / 9)))
        thing = torch.where(chance(count, device, 0.12), tread.expand(-1, 3, -1, -1), thing).clamp(0, 1)
        picture = picture.index_copy(0, at, picture[at] * (1 - shape) + thing * shape)
        masks = masks.index_copy(0, at, _covered(masks[at], shape))
    return picture, masks


def cut_outs(bank: Bank, picture: Tensor, masks: Tensor, share: float) -> tuple[Tensor, Tensor]:
    """Photographed things without rust (animals, fruit, leaves, trees, tires) laid over a `share` (times `bank.often`) of the
    pictures, up to two."""
    count, _, size, _ = picture.shape
    device = picture.device
    if not len(bank.things):
        return picture, masks
    for _ in range(2):
        which = torch.randint(len(bank.things), (count,), device=device)
        zoom = torch.exp(uniform(count, device, math.log(1.1), math.log(5.0))).view(count, 1, 1)
        angle = uniform(count, device, -0.5, 0.5).view(count, 1, 1)
        axis = torch.linspace(-1, 1, size, device=device)
        y, x = torch.meshgrid(axis, axis, indexing="ij")
        x = (x[None] - (torch.rand(count, 1, 1, device=device) * 1.8 - 0.9)) * zoom
        y = (y[None] - (torch.rand(count, 1, 1, device=device) * 1.8 - 0.9)) * zoom
        flip = torch.where(torch.rand(count, 1, 1, device=device) < 0.5, -1.0, 1.0)
        grid = torch.stack([(x * angle.cos() - y * angle.sin()) * flip, x * angle.sin() + y * angle.cos()], -1)
        thing = F.grid_sample(bank.things[which], grid, align_corners=False)
        shape = thing[:, 3:] * chance(count, device, share * bank.often)
        colour = (thing[:, :3] * uniform(count, device, 0.5, 1.3)).clamp(0, 1)
        picture = picture * (1 - shape) + colour * shape
        masks = _covered(masks, shape)
    return picture, masks


def _covered(masks: Tensor, shape: Tensor) -> Tensor:
    """What something laid over leaves of the masks: nothing below it, not judged along its outline where there was rust."""
    masks = torch.where((shape > 0.5) & (masks < 1.5), torch.zeros_like(masks), masks)
    edge = (shape > 0.15) & (shape < 0.85) & (masks[:, :1] > 0)
    return torch.where(edge.expand_as(masks), torch.full_like(masks, 2.0), masks)


def _even_rust(bank: Bank, count: int, size: int) -> Tensor:
    """Iron rusted evenly: black-brown to purple-brown, hardly any texture; in part a photographed piece, darkened."""
    device = bank.rust.device
    hue, sat = uniform(count, device, 0.96, 1.065) % 1, uniform(count, device, 0.14, 0.6)
    tone = hsv_to_rgb(hue, sat, uniform(count, device, 0.09, 0.45))
    tone = tone * (1 + uniform(count, device, 0.02, 0.2) * plasma(count, size, device, 5))
    tone = tone * (1 + uniform(count, device, 0, 0.1) * noise(count, size, device))
    real = pick(bank.rust, count, size, low=0.5, high=1.0)
    real = real * (uniform(count, device, 0.12, 0.4) / real.mean((1, 2, 3), keepdim=True).clamp_min(0.05))
    spots = torch.sigmoid(plasma(count, size, device, 6) * 5 - uniform(count, device, 2, 9))
    share = torch.where(chance(count, device, 0.4), torch.ones_like(spots), spots)
    return (tone * (1 - share) + real * share).clamp(0, 1)


def _even_dark(bank: Bank, count: int, size: int, along: Tensor) -> Tensor:
    """What passes for it and is not rust: black, grey and coloured dark paint with gloss, wood and stone, tread of tires."""
    device = bank.rust.device
    black = hsv_to_rgb(uniform(count, device, 0, 1), uniform(count, device, 0, 0.1), uniform(count, device, 0.02, 0.35))
    paint = hsv_to_rgb(uniform(count, device, 0.2, 0.85), uniform(count, device, 0.15, 0.8), uniform(count, device, 0.05, 0.45))
    paint = torch.where(chance(count, device, 0.6), black, paint) * (1 + 0.06 * plasma(count, size, device, 3))
    ground = pick(bank.ground, count, size, low=0.3, high=1.0)
    ground = ground * (uniform(count, device, 0.1, 0.45) / ground.mean((1, 2, 3), keepdim=True).clamp_min(0.05))
    tread = (0.1 + 0.05 * torch.sign(torch.sin(along / 5) * torch.sin(along.transpose(2, 3) / 6))).expand(-1, 3, -1, -1)
    choice = torch.rand(count, 1, 1, 1, device=device)
    return torch.where(choice < 0.5, paint, torch.where(choice < 0.92, ground, tread)).clamp(0, 1)


def profiles(bank: Bank, picture: Tensor, masks: Tensor, share: float = 0.16) -> tuple[Tensor, Tensor]:
    """Bars, rails and tubes laid over a `share` (times `bank.bars`) of the pictures, evenly dark: some rusted, some not.

    Only where the bank has `ground`: dark wood and stone are the other half of the lesson.
    """
    if not len(bank.ground) or not bank.bars:
        return picture, masks
    size, device = picture.shape[-1], picture.device
    at = torch.randperm(len(picture), device=device)[: max(1, round(share * bank.bars * len(picture)))]
    count = len(at)
    below, known = picture[at], masks[at]
    dim = torch.where(chance(count, device, 0.4), uniform(count, device, 0.35, 1), torch.ones(count, 1, 1, 1, device=device))
    for turn in range(3):
        line = half_plane(count, size, device, 0.9)
        half = torch.exp(uniform(count, device, math.log(0.012), math.log(0.16))) * size
        many = chance(count, device, 0.2)
        period = half * uniform(count, device, 3, 9)
        line = torch.where(many, (line % period) - period / 2, line)
        inside = torch.sigmoid((half - line.abs()) / uniform(count, device, 0.5, 1.6))
        end = torch.sigmoid(half_plane(count, size, device) / 1.5)
        inside = inside * torch.where(chance(count, device, 0.35), end, torch.ones_like(end))
        inside = inside * (chance(count, device, 0.5) if turn else 1.0)
        across = (line / half).clamp(-1, 1)
        tube = 1 - uniform(count, device, 0.2, 0.8) * (across - uniform(count, device, -0.5, 0.5)) ** 2
        angled = 1 + torch.sign(across - uniform(count, device, -0.6, 0.6)) * uniform(count, device, 0, 0.35)
        flat = 1 + 0.15 * across * uniform(count, device, -1, 1)
        kind = torch.rand(count, 1, 1, 1, device=device)
        shade = torch.where(kind < 0.35, tube, torch.where(kind < 0.75, angled, flat))
        shade = shade * (1 + 0.2 * plasma(count, size, device, 2) * chance(count, device, 0.5))
        rusty = chance(count, device, 0.5)
        shine = torch.exp(-(((across - uniform(count, device, -0.8, 0.8)) / uniform(count, device, 0.05, 0.3)) ** 2))
        shine = shine * torch.where(rusty, uniform(count, device, 0, 0.06), uniform(count, device, 0, 0.4))
        colour = torch.where(rusty, _even_rust(bank, count, size), _even_dark(bank, count, size, line))
        colour = (colour * shade + shine).clamp(0, 1)
        drop = torch.roll(blur(inside, 5.0), (6, 6), (2, 3)) * uniform(count, device, 0, 0.5)
        below = below * (1 - drop * (1 - inside))
        below = below * (1 - inside) + colour * inside
        known = _covered(known, inside)
        marked = torch.where((inside > 0.85) & rusty, torch.ones_like(inside), known[:, :1])
        marked = torch.where((inside > 0.15) & (inside <= 0.85) & rusty, torch.full_like(inside, 2.0), marked)
        known = torch.cat([marked, known[:, 1:]], 1)
    picture, masks = picture.clone(), masks.clone()
    picture[at], masks[at] = (below * dim).clamp(0, 1), known
    return picture, masks
