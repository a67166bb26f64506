"""One training run: python train.py FOLD PACK WEIGHTS OUT --steps N.

Writes OUT/FOLD.pt and OUT/FOLD.npz (what it says of held-out pictures).
"""

from __future__ import annotations

import argparse
import copy
import math
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional as F

from beside import cut_outs
from data import Real, Renders, Stock, bank, clean_held_out, dated, paste, real_batch, reals, repaint
from folds import held_out
from mixing import Bank
from net import pretrained
from optics import photograph, warp
from synth import far

AREA = 544 * 408
# many views of one stained wall with odd marks: they count less
WALL = tuple(f"rust-polygons/{n}" for n in range(6, 20))
# how far the running mean of the net counts beside a label drawn by hand
OWN = 0.1
# of a batch: pictures without any rust; where PACK has more of them (gather.py)
BARE, MORE_BARE = 0.125, 0.16
# earlier portions that may be shown again
RECENT = 12
SHARE = {"rust-polygons": 1.0, "phone-rust": 0.8, "tower-boxes": 0.6}


def rust_loss(logit: Tensor, label: Tensor, own: Tensor, trust: Tensor) -> Tensor:
    """Cross-entropy and Dice where the label is known; what is drawn by hand is mixed with what the net itself holds.

    own : what the running mean of the net says of the picture before the camera. trust : (B, 1, 1, 1) how far `own` counts, 0 for
    exact labels. Where the label is not known, `own` alone counts, as far as it is sure.
    """
    known = (label < 1.5).float()
    truth = (label == 1).float()
    chance = torch.sigmoid(logit)
    sure = (2 * (own - 0.5).abs()) ** 2
    weight = known + (1 - known) * (trust > 0) * sure * 0.5
    aim = torch.where(known > 0, truth * (1 - trust) + own * trust, own)
    entropy = F.binary_cross_entropy_with_logits(logit, aim, reduction="none")
    plain = (entropy * weight).sum() / weight.sum().clamp_min(1)
    both = (chance * truth * known).sum((1, 2, 3))
    each = ((chance + truth) * known).sum((1, 2, 3))
    shows = truth.sum((1, 2, 3)) > 20
    per_picture = (1 - (2 * both + 1) / (each + 1))[shows].mean() if shows.any() else logit.sum() * 0
    pooled = 1 - (2 * both.sum() + 1) / (each.sum() + 1)
    return plain + 0.4 * pooled + 0.3 * per_picture


def sign_loss(logit: Tensor, truth: Tensor) -> Tensor:
    """Cross-entropy and Dice of the six signs where they are known: synthetic and rendered pictures only."""
    known = (truth < 1.5).float()
    truth = truth * known
    entropy = F.binary_cross_entropy_with_logits(logit, truth, reduction="none")
    chance = torch.sigmoid(logit) * known
    dice = 1 - (2 * (chance * truth).sum((0, 2, 3)) + 1) / ((chance + truth).sum((0, 2, 3)) + 1)
    return (entropy * known).sum() / known.sum().clamp_min(1) + 0.25 * dice.mean()


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
    torch.backends.cudnn.benchmark = False
    saved, counts, shown = {}, {}, {}
    for item in items:
        shown[item.source] = shown.get(item.source, 0) + item.label.numel()
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
            f"recall {hit / max(1, hit + missed):.3f}, {(hit + false) / max(1, shown[source]):.4f} called rust",
            flush=True,
        )


def bare_pictures(mixing: Bank, count: int, size: int) -> Tensor:
    """Photographs without rust; where there are surfaces, these in up to two of five, and cut-outs laid over up to a third."""
    device, second = mixing.clean.device, round(count * 0.4 * mixing.often) if len(mixing.ground) else 0
    bare = mixing.clean[torch.randint(len(mixing.clean), (count - second,), device=device)]
    if second:
        bare = torch.cat([bare, mixing.ground[torch.randint(len(mixing.ground), (second,), device=device)]])
    bare = warp(bare, size, low=0.3, high=1.0, turn=0.5)
    return cut_outs(mixing, bare, torch.zeros_like(bare[:, :1]), 0.35)[0]


def save(net: nn.Module, out: Path) -> None:
    """Write the weights as 16-bit floats."""
    torch.save({k: v.half() if v.dtype.is_floating_point else v for k, v in net.state_dict().items()}, out)


@dataclass(frozen=True)
class Portion:
    """Training pictures after the camera (B, 3, S, S), and at half their size: rust label (B, 1), signs (B, 6), `own` (B, 1).

    Labels and signs are 2 where not judged; `own` and trust (B, 1, 1, 1) as in rust_loss.
    """

    pictures: Tensor
    label: Tensor
    signs: Tensor
    own: Tensor
    trust: Tensor

    def mirrored(self) -> Portion:
        """The same left to right, a little lighter or darker."""
        lighter = torch.exp(torch.rand_like(self.trust) * 0.5 - 0.25)
        return Portion(
            (self.pictures * lighter).clamp(0, 1).flip(3), self.label.flip(3), self.signs.flip(3), self.own.flip(3), self.trust
        )


@dataclass(frozen=True)
class Source:
    """All that portions are drawn from.

    weight : of each labelled picture. rendered : share of rendered vehicles. pasted : share of labelled pictures over which
    another's rust is laid.
    """

    mixing: Bank
    stock: Stock
    renders: Renders
    used: list[Real]
    weight: Tensor
    rendered: float
    pasted: float

    @torch.no_grad()
    def portion(self, count: int, size: int, kept: nn.Module | None) -> Portion:
        """`count` new pictures: drawn (and rendered), labelled, without rust. kept : the running mean, None while it is young."""
        mixing, device = self.mixing, self.mixing.rust.device
        drawn, plain = count * 9 // 20, max(1, round(count * (MORE_BARE if len(mixing.ground) else BARE)))
        rendered = round(count * self.rendered) if self.renders.count else 0
        picture, masks = self.stock.draw(drawn - rendered, fresh=max(2, drawn // 3))
        if rendered:
            more, known = self.renders.draw(rendered, size)
            picture, masks = torch.cat([picture, more]), torch.cat([masks, known])
        seen, label = real_batch(self.used, self.weight, count - drawn - plain, size)
        seen = paste(repaint(seen, label, 0.35), label, self.pasted)
        seen, label = far(mixing, seen, label, 0.3)
        bare = bare_pictures(mixing, plain, size)
        labels = torch.cat([masks[:, :1], label, torch.zeros(plain, 1, size, size, device=device)])
        pictures = photograph(dated(torch.cat([picture, seen, bare]), labels, 0.1))
        half = F.interpolate(labels, scale_factor=0.5, mode="nearest")
        signs = half.new_full((count, 6, *half.shape[2:]), 2.0)
        signs[:drawn] = F.interpolate(masks[:, 1:], scale_factor=0.5, mode="nearest")
        own, trust = torch.zeros_like(half), torch.zeros(count, 1, 1, 1, device=device)
        if kept is not None:
            with torch.autocast(device.type, dtype=torch.bfloat16, enabled=device.type == "cuda"):
                held = kept((seen * 255).to(memory_format=torch.channels_last))[:, :1].float()
            held = F.interpolate(torch.sigmoid(held), scale_factor=2.0, mode="bilinear", align_corners=False)
            own[drawn : drawn + len(seen)], trust[drawn : drawn + len(seen)] = held, OWN
        return Portion(pictures, half, signs, own, trust)


def joined(portions: list[Portion]) -> Portion:
    """Portions one after the other."""
    return Portion(*(torch.cat([getattr(p, name) for p in portions]) for name in Portion.__dataclass_fields__))


def train(
    fold: str,
    folder: Path,
    weights: Path | None,
    resume: Path | None,
    out: Path,
    *,
    steps: int,
    seconds: float,
    seed: int,
    size: int,
    batch: int,
    shows: int,
    device: torch.device,
    compiled: bool,
    stored: int,
    pace: float,
    often: float,
    bars: float,
    rendered: float,
    pasted: float,
) -> None:
    """Train for so many `steps`, or `seconds` if they end first, and write weights and held-out predictions."""
    torch.manual_seed(seed)
    torch.backends.cudnn.benchmark = True
    everything = reals(folder, device)
    away = [r for r in everything if held_out(fold, r.source, int(r.name.split("/")[1]))]
    used = [r for r in everything if r not in away] if not away else [r for r in everything if all(r is not a for a in away)]
    mixing = bank(folder, used, device, seed=7, all_clean=not away, often=often, bars=bars)
    real_weight = torch.tensor(
        [(SHARE[r.source] if (r.label == 1).any() else 0.3) * (0.25 if r.name in WALL else 1.0) for r in used]
    )
    net = pretrained("lite2", weights).to(device).to(memory_format=torch.channels_last)
    if resume is not None:
        net.load_state_dict(torch.load(resume / f"{fold}.pt", map_location=device, weights_only=True))
    kept = pretrained("lite2", None).to(device).to(memory_format=torch.channels_last).eval()
    kept.load_state_dict(net.state_dict())
    seeing = torch.compile(net) if compiled else net
    if compiled:
        # compile outside the clock, then undo what the pass did to the counters
        with torch.autocast(device.type, dtype=torch.bfloat16, enabled=device.type == "cuda"):
            blank = torch.rand(batch, 3, size, size, device=device).to(memory_format=torch.channels_last)
            seeing(blank * 255).float().mean().backward()
        net.zero_grad(set_to_none=True)
        net.load_state_dict(copy.deepcopy(kept.state_dict()))
    slow, fast = ([v for v in n.state_dict().values() if v.dtype.is_floating_point] for n in (kept, net))
    source = Source(mixing, Stock(mixing, stored, size), Renders(folder / "renders", device), used, real_weight, rendered, pasted)
    recent = [source.portion(batch // shows, size, None) for _ in range(RECENT)]
    groups = [
        {"params": net.encoder.parameters(), "lr": 4e-4},
        {"params": [p for n, p in net.named_parameters() if not n.startswith("encoder")], "lr": 1.5e-3},
    ]
    best = torch.optim.AdamW(groups, weight_decay=0.02, fused=device.type == "cuda")
    start_rates = [g["lr"] for g in groups]
    begun, step = time.monotonic(), 0
    while (gone := max((time.monotonic() - begun) / seconds, step / steps)) < 1:
        rate = pace * min(1.0, step / 150) * (0.5 + 0.5 * math.cos(math.pi * gone) + 0.01)
        for group, first in zip(best.param_groups, start_rates, strict=True):
            group["lr"] = first * rate
        new = source.portion(batch // shows, size, kept if gone > 0.2 else None)
        shown = [new] + [recent[int(torch.randint(len(recent), (1,)))].mirrored() for _ in range(shows - 1)]
        recent = [*recent[1:], new]
        all_shown = joined(shown)
        with torch.autocast(device.type, dtype=torch.bfloat16, enabled=device.type == "cuda"):
            logits = seeing((all_shown.pictures * 255).to(memory_format=torch.channels_last))
        logits = F.interpolate(logits.float(), scale_factor=2.0, mode="bilinear", align_corners=False)
        loss = rust_loss(logits[:, :1], all_shown.label, all_shown.own, all_shown.trust)
        loss = loss + 0.5 * sign_loss(logits[:, 1:], all_shown.signs)
        best.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 2.0)
        best.step()
        with torch.no_grad():
            torch._foreach_lerp_(slow, fast, 1 - min(0.998, step / (step + 20)))
        if step % 200 == 0:
            print(f"{fold} step {step} of {gone:.2f}: loss {loss.item():.3f}", flush=True)
            save(kept, out / f"{fold}.pt")
        step += 1
    print(f"{fold} {step} steps of {batch}", flush=True)
    save(kept, out / f"{fold}.pt")
    if away:
        judge(kept, away + clean_held_out(folder, device), out / f"{fold}.npz")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("fold")
    parser.add_argument("pack", type=Path)
    parser.add_argument("weights", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--resume", type=Path, help="folder with FOLD.pt of an earlier run of the same fold")
    parser.add_argument("--steps", type=int, default=4000)
    parser.add_argument("--seconds", type=float, default=3600, help="stop after this long, whatever the steps")
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--size", type=int, default=448)
    parser.add_argument("--batch", type=int, default=44)
    parser.add_argument("--shows", type=int, default=2, help="each picture is shown this often: once new, then mirrored")
    parser.add_argument("--stored", type=int, default=3000, help="synthetic pictures kept and shown again under other cameras")
    parser.add_argument("--pace", type=float, default=1.0, help="of learning; a run that goes on from another wants less")
    parser.add_argument("--often", type=float, default=0.5, help="of surfaces and cut-outs without rust (Bank); 0: none")
    parser.add_argument("--bars", type=float, default=0.33, help="of dark profiles (Bank)")
    parser.add_argument("--rendered", type=float, default=0.06, help="rendered vehicles in a batch, where PACK has them")
    parser.add_argument("--pasted", type=float, default=0.0, help="labelled pictures over which another's rust is laid")
    parser.add_argument("--compiled", action="store_true", help="compile the network first")
    parser.add_argument("--device", default="cuda" if torch.cuda.is_available() else "cpu")
    given = parser.parse_args()
    train(
        given.fold,
        given.pack,
        given.weights if given.resume is None else None,
        given.resume,
        given.out,
        steps=given.steps,
        seconds=given.seconds,
        seed=given.seed,
        size=given.size,
        batch=given.batch,
        device=torch.device(given.device),
        compiled=given.compiled,
        stored=given.stored,
        pace=given.pace,
        shows=given.shows,
        often=given.often,
        bars=given.bars,
        rendered=given.rendered,
        pasted=given.pasted,
    )
