"""One training run: python train.py FOLD PACK WEIGHTS OUT --seconds N.

Writes OUT/FOLD.pt, OUT/FOLD.npz (what it says of held-out pictures) and OUT/FOLD-signs.npz (signs in fresh synthetic pictures).
"""

from __future__ import annotations

import argparse
import math
import time
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional as F

from data import Real, bank, clean_held_out, real_batch, reals
from folds import held_out
from net import pretrained
from optics import photograph, warp
from synth import Bank, scene

AREA = 640 * 480
# many views of one stained wall with odd marks: they count less
WALL = tuple(f"rust-polygons/{n}" for n in range(6, 20))
SHARE = {"rust-polygons": 1.0, "phone-rust": 0.8, "tower-boxes": 0.6}


def rust_loss(logit: Tensor, label: Tensor, forgiving: Tensor, after: float) -> Tensor:
    """Cross-entropy and Dice where the label is known. Where `forgiving`, a sure 'rust' outside the marks is let off."""
    known = (label < 1.5).float()
    truth = (label == 1).float()
    chance = torch.sigmoid(logit)
    let_off = forgiving * (1 - truth) * (chance.detach() > after).float()
    weight = known * (1 - let_off)
    entropy = F.binary_cross_entropy_with_logits(logit, truth, reduction="none")
    plain = (entropy * weight).sum() / weight.sum().clamp_min(1)
    both = (chance * truth * weight).sum((1, 2, 3))
    each = ((chance + truth) * weight).sum((1, 2, 3))
    shows = (truth * weight).sum((1, 2, 3)) > 20
    per_picture = (1 - (2 * both + 1) / (each + 1))[shows].mean() if shows.any() else logit.sum() * 0
    pooled = 1 - (2 * both.sum() + 1) / (each.sum() + 1)
    return plain + 0.4 * pooled + 0.3 * per_picture


def sign_loss(logit: Tensor, truth: Tensor) -> Tensor:
    """Cross-entropy and Dice of the six signs, synthetic pictures only."""
    truth = truth.clamp(0, 1)
    entropy = F.binary_cross_entropy_with_logits(logit, truth, reduction="none").mean()
    chance = torch.sigmoid(logit)
    dice = 1 - (2 * (chance * truth).sum((0, 2, 3)) + 1) / ((chance + truth).sum((0, 2, 3)) + 1)
    return entropy + 0.25 * dice.mean()


def working_size(high: int, wide: int, area: int = AREA) -> tuple[int, int]:
    """The size the network sees: about `area` pixels, sides multiples of 32, never enlarged by more than a quarter."""
    scale = min(1.25, math.sqrt(area / (high * wide)))
    return max(32, round(high * scale / 32) * 32), max(32, round(wide * scale / 32) * 32)


@torch.no_grad()
def probabilities(net: nn.Module, picture: Tensor) -> Tensor:
    """Rust probability of one picture (3, M, N), at a quarter of the working size."""
    size = working_size(*picture.shape[1:])
    small = F.interpolate(picture[None], size=size, mode="bilinear", antialias=True, align_corners=False)
    return torch.sigmoid(net(small * 255)[0, 0].float())


def judge(net: nn.Module, items: list[Real], out: Path) -> None:
    """Save what the network says of held-out pictures and show the pooled figures per source."""
    saved, counts = {}, {}
    for item in items:
        chance = probabilities(net, item.picture)
        full = F.interpolate(chance[None, None], size=item.label.shape[1:], mode="bilinear", align_corners=False)[0]
        saved[item.name] = (chance.cpu().numpy() * 255).round().astype(np.uint8)
        known, truth, found = item.label < 1.5, item.label == 1, full > 0.5
        row = [int((a & known).sum()) for a in (truth & found, ~truth & found, truth & ~found)]
        total = counts.setdefault(item.source, [0, 0, 0])
        for i in range(3):
            total[i] += row[i]
    np.savez_compressed(out, **saved)
    for source, (hit, false, missed) in counts.items():
        print(
            f"{out.stem} {source}: IoU {hit / max(1, hit + false + missed):.3f} precision {hit / max(1, hit + false):.3f} "
            f"recall {hit / max(1, hit + missed):.3f}",
            flush=True,
        )


@torch.no_grad()
def seen_signs(net: nn.Module, mixing: Bank, size: int, out: Path, count: int = 2000) -> None:
    """Save, for fresh synthetic pictures: what is in them (share of each mask) and what the network says (levels of each map)."""
    torch.manual_seed(4242)
    truth, said = [], []
    for _ in range(count // 20):
        picture, masks = scene(mixing, 20, size)
        maps = torch.sigmoid(net(photograph(picture) * 255).float()).flatten(2)
        truth.append((masks == 1).float().mean((2, 3)).cpu())
        said.append(torch.stack([maps.quantile(q, dim=2) for q in (0.9, 0.99, 0.997)] + [(maps > 0.5).float().mean(2)], 2).cpu())
    np.savez_compressed(out, truth=torch.cat(truth).numpy(), said=torch.cat(said).numpy())


def train(
    fold: str,
    folder: Path,
    weights: Path | None,
    resume: Path | None,
    out: Path,
    *,
    seconds: float,
    seed: int,
    size: int,
    batch: int,
    device: torch.device,
) -> None:
    """Train for `seconds` and write weights and held-out predictions."""
    torch.manual_seed(seed)
    torch.backends.cudnn.benchmark = True
    everything = reals(folder, device)
    away = [r for r in everything if held_out(fold, r.source, int(r.name.split("/")[1]))]
    used = [r for r in everything if r not in away] if not away else [r for r in everything if all(r is not a for a in away)]
    mixing = bank(folder, used, device, seed=7, all_clean=not away)
    real_weight = torch.tensor(
        [(SHARE[r.source] if (r.label == 1).any() else 0.3) * (0.25 if r.name in WALL else 1.0) for r in used]
    )
    net = pretrained("lite2", weights).to(device).to(memory_format=torch.channels_last)
    if resume is not None:
        net.load_state_dict(torch.load(resume / f"{fold}.pt", map_location=device, weights_only=True))
    kept = pretrained("lite2", None).to(device).eval()
    groups = [
        {"params": net.encoder.parameters(), "lr": 4e-4},
        {"params": [p for n, p in net.named_parameters() if not n.startswith("encoder")], "lr": 1.5e-3},
    ]
    best = torch.optim.AdamW(groups, weight_decay=0.02)
    start_rates = [g["lr"] for g in groups]
    begun, step = time.monotonic(), 0
    while (gone := (time.monotonic() - begun) / seconds) < 1:
        rate = min(1.0, step / 150) * (0.5 + 0.5 * math.cos(math.pi * gone) + 0.01)
        for group, first in zip(best.param_groups, start_rates, strict=True):
            group["lr"] = first * rate
        drawn, plain = batch * 9 // 20, max(1, batch // 8)
        with torch.no_grad():
            picture, masks = scene(mixing, drawn, size)
            seen, label = real_batch(used, real_weight, batch - drawn - plain, size)
            bare = warp(
                mixing.clean[torch.randint(len(mixing.clean), (plain,), device=device)], size, low=0.3, high=1.0, turn=0.5
            )
            pictures = photograph(torch.cat([picture, seen, bare]))
            labels = torch.cat([masks[:, :1], label, torch.zeros(plain, 1, size, size, device=device)])
            forgiving = torch.zeros(len(pictures), 1, 1, 1, device=device)
            forgiving[drawn : drawn + len(seen)] = float(gone > 0.25)
        with torch.autocast(device.type, dtype=torch.bfloat16, enabled=device.type == "cuda"):
            logits = net((pictures * 255).to(memory_format=torch.channels_last))
        logits = F.interpolate(logits.float(), scale_factor=2.0, mode="bilinear", align_corners=False)
        half = F.interpolate(labels, scale_factor=0.5, mode="nearest")
        signs = F.interpolate(masks[:, 1:], scale_factor=0.5, mode="nearest")
        loss = rust_loss(logits[:, :1], half, forgiving, 0.85) + 0.7 * sign_loss(logits[:drawn, 1:], signs)
        best.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 2.0)
        best.step()
        with torch.no_grad():
            hold = min(0.998, step / (step + 20))
            for slow, fast in zip(kept.state_dict().values(), net.state_dict().values(), strict=True):
                if slow.dtype.is_floating_point:
                    slow.lerp_(fast, 1 - hold)
                else:
                    slow.copy_(fast)
        if step % 200 == 0:
            print(f"{fold} step {step} of {gone:.2f}: loss {loss.item():.3f}", flush=True)
        step += 1
    print(f"{fold} {step} steps of {batch}", flush=True)
    torch.save({k: v.half() if v.dtype.is_floating_point else v for k, v in kept.state_dict().items()}, out / f"{fold}.pt")
    if away:
        judge(kept, away + clean_held_out(folder, device), out / f"{fold}.npz")
    seen_signs(kept, mixing, size, out / f"{fold}-signs.npz")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("fold")
    parser.add_argument("pack", type=Path)
    parser.add_argument("weights", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--resume", type=Path, help="folder with FOLD.pt of an earlier run of the same fold")
    parser.add_argument("--seconds", type=float, default=400)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--size", type=int, default=512)
    parser.add_argument("--batch", type=int, default=32)
    parser.add_argument("--device", default="cuda" if torch.cuda.is_available() else "cpu")
    given = parser.parse_args()
    train(
        given.fold,
        given.pack,
        given.weights if given.resume is None else None,
        given.resume,
        given.out,
        seconds=given.seconds,
        seed=given.seed,
        size=given.size,
        batch=given.batch,
        device=torch.device(given.device),
    )
