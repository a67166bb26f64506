"""The mean of the weights of runs that went on from the same one: python average.py FOLD PACK OUT RUN [RUN ...]

Each RUN is a folder with FOLD.pt. Writes OUT/FOLD.pt and OUT/FOLD-signs.npz (what it says of the signs in fresh synthetic
pictures). With one RUN these are the figures of that run.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn

from data import bank, reals
from folds import held_out
from mixing import Bank
from net import pretrained
from optics import photograph
from synth import scene


def mean(runs: list[dict[str, Tensor]]) -> dict[str, Tensor]:
    """Weight by weight; counters are those of the first run."""
    return {
        name: torch.stack([run[name].float() for run in runs]).mean(0) if first.dtype.is_floating_point else first
        for name, first in runs[0].items()
    }


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


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("fold")
    parser.add_argument("pack", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("runs", type=Path, nargs="+")
    parser.add_argument("--size", type=int, default=448)
    parser.add_argument("--count", type=int, default=2000, help="synthetic pictures that the signs are measured on")
    parser.add_argument("--often", type=float, default=0.5, help="of surfaces and cut-outs without rust in them (Bank)")
    parser.add_argument("--bars", type=float, default=0.5, help="of dark profiles in them (Bank)")
    parser.add_argument("--device", default="cuda" if torch.cuda.is_available() else "cpu")
    given = parser.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    weights = mean([torch.load(run / f"{given.fold}.pt", map_location="cpu", weights_only=True) for run in given.runs])
    halved = {k: v.half() if v.dtype.is_floating_point else v for k, v in weights.items()}
    torch.save(halved, given.out / f"{given.fold}.pt")
    device = torch.device(given.device)
    net = pretrained("lite2", None).to(device).eval()
    net.load_state_dict(weights)
    everything = reals(given.pack, device)
    used = [r for r in everything if not held_out(given.fold, r.source, int(r.name.split("/")[1]))]
    mixing = bank(given.pack, used, device, seed=7, all_clean=given.fold == "all", often=given.often, bars=given.bars)
    seen_signs(net, mixing, given.size, given.out / f"{given.fold}-signs.npz", given.count)
