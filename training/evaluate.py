"""Held-out figures: python evaluate.py PACK MODELS OUT. MODELS holds other-cameras.onnx, panels.onnx and their *-signs.npz, and
panels-1.onnx and panels-2.onnx where the halves of panels were run too.

Runs the package's own two-view look over pictures that the model never saw, says which calibration would fit better, writes
figures (figures.json), the two tables rust_signs.csv and machine_signs.csv, and a contact sheet of successes and failures.
"""

from __future__ import annotations

import argparse
import json
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import onnxruntime as ort
from numpy.typing import NDArray
from PIL import Image
from scipy.optimize import minimize

from folds import BODIES, CHECKED, HALVES, PANELS
from weldworth.picture import rust

SIGNS = ("surface-rust", "scale", "bubbling", "hole", "fresh-coating", "staining", "patch")
PRESENT = 0.003
# rust is suggested from a little above one half: fewer pictures without any are named, hardly fewer with. A patch hardly ever
# reaches one half
SUGGEST = {"surface-rust": 0.65, "patch": 0.35}


@dataclass(frozen=True)
class Judged:
    """One held-out picture: pixels, label map (0, 1, 2 not known) and log odds of rust."""

    name: str
    image: NDArray[np.uint8]
    label: NDArray[np.uint8]
    odds: NDArray[np.float64]


def judged(pack: Path, model: Path, names: list[str], *, source: bool = False) -> list[Judged]:
    """Look at pictures with one model in the place of the package's. source : judge by the labels as they came."""
    session = ort.InferenceSession(str(model))
    rust._session = lambda: session  # type: ignore[assignment]
    found = []
    for name in names:
        folder = pack / ("clean" if name.startswith("clean/") else "real")
        stem = name.split("/")[1] if name.startswith("clean/") else name.replace("/", "_")
        image = cv2.cvtColor(cv2.imread(str(folder / f"{stem}.jpg")), cv2.COLOR_BGR2RGB)
        blank = np.zeros(image.shape[:2], np.uint8)
        of = folder / f"{stem}{'-source' if source else ''}.png"
        label = blank if name.startswith("clean/") else cv2.imread(str(of), cv2.IMREAD_GRAYSCALE)
        chance = np.clip(rust.rust_mask(image).astype(np.float64), 1e-4, 1 - 1e-4)
        found.append(Judged(name, image, label, np.log(chance / (1 - chance))))
    return found


def counts(item: Judged, scale: float, shift: float) -> NDArray[np.float64]:
    """Hits, false alarms, misses in pixels."""
    known, truth, said = item.label < 2, item.label == 1, scale * item.odds + shift > 0
    return np.array([(truth & said & known).sum(), (~truth & said & known).sum(), (truth & ~said & known).sum()], float)


def pooled(items: list[Judged], scale: float, shift: float) -> dict[str, float]:
    """Pooled figures of a source, with a bootstrap over pictures for the IoU."""
    each = np.array([counts(item, scale, shift) for item in items])
    hit, false, missed = each.sum(0)
    rng = np.random.default_rng(1)
    draws = each[rng.integers(0, len(each), (2000, len(each)))].sum(1)
    iou = draws[:, 0] / draws.sum(1).clip(1)
    chance = np.concatenate([(1 / (1 + np.exp(-(scale * i.odds + shift))))[i.label < 2].ravel()[::7] for i in items])
    truth = np.concatenate([(i.label == 1)[i.label < 2].ravel()[::7] for i in items]).astype(float)
    bins = np.minimum((chance * 10).astype(int), 9)
    reliability = [
        [round(float(chance[bins == b].mean()), 3), round(float(truth[bins == b].mean()), 3), int((bins == b).sum())]
        for b in range(10)
        if (bins == b).sum() > 50
    ]
    gap = sum(n * abs(p - t) for p, t, n in reliability) / sum(n for *_, n in reliability)
    return {
        "pictures": len(items),
        "iou": float(hit / max(1, hit + false + missed)),
        "low": float(np.quantile(iou, 0.05)),
        "high": float(np.quantile(iou, 0.95)),
        "precision": float(hit / max(1, hit + false)),
        "recall": float(hit / max(1, hit + missed)),
        "brier": float(((chance - truth) ** 2).mean()),
        "calibration_gap": gap,
        "rust_share": float(truth.mean()),
        "flagged": float((chance > 0.5).mean()),
        "reliability": reliability,
    }


def logistic(x: NDArray[np.float64], y: NDArray[np.float64], weight: NDArray[np.float64] | None = None) -> tuple[float, float]:
    """Slope and intercept of P(y) = 1 / (1 + exp(-(slope x + intercept)))."""
    w = np.ones_like(y) if weight is None else weight

    def loss(p: NDArray[np.float64]) -> float:
        z = p[0] * x + p[1]
        return float((w * (np.logaddexp(0, z) - y * z)).sum() / w.sum() + 1e-4 * (p**2).sum())

    best = minimize(loss, np.array([1.0, 0.0]), method="BFGS").x
    return float(best[0]), float(best[1])


def calibration(groups: dict[str, list[Judged]]) -> tuple[float, float]:
    """Scale and shift for the rust log odds, every source weighing the same.

    The scale makes the probabilities as honest as one factor can; the shift puts one half where the mean IoU is best.
    """
    xs, ys, ws = [], [], []
    for items in groups.values():
        x = np.concatenate([i.odds[i.label < 2].ravel()[::23] for i in items])
        xs.append(x)
        ys.append(np.concatenate([(i.label == 1)[i.label < 2].ravel()[::23] for i in items]).astype(float))
        ws.append(np.full(len(x), 1 / len(x)))
    scale, _ = logistic(np.concatenate(xs), np.concatenate(ys), np.concatenate(ws))
    best, shift = 0.0, 0.0
    for tried in np.arange(-0.4, 0.85, 0.1):
        totals = [sum(counts(i, scale, tried) for i in items) for items in groups.values()]
        mean = float(np.mean([t[0] / t.sum() for t in totals]))
        best, shift = (mean, float(tried)) if mean > best else (best, shift)
    return scale, shift


def sign_tables(
    models: Path, groups: dict[str, list[Judged]], clean: list[Judged], scale: float, shift: float, out: Path
) -> dict[str, object]:
    """Fit and measure the suggestions; write rust_signs.csv and machine_signs.csv."""
    data = [np.load(models / f"{fold}-signs.npz") for fold in ("other-cameras", "panels")]
    truth = np.concatenate([d["truth"] for d in data]) > PRESENT
    level = np.clip(np.concatenate([d["said"] for d in data])[:, :, 2], 1e-4, 1 - 1e-4).astype(float)
    odds = np.log(level / (1 - level))
    odds[:, 0] = scale * odds[:, 0] + shift
    half = np.arange(len(odds)) % 2 == 0
    source = f"{half.sum()} synthetic pictures not used in training; docs/rust-model.md"
    other, held = "other half of the synthetic pictures; docs/rust-model.md", "held-out photographs; docs/rust-model.md"
    rows, said = ["sign,slope,intercept,suggest_from,basis,source,as_of"], np.zeros_like(truth)
    report: dict[str, object] = {}
    for i, sign in enumerate(SIGNS):
        slope, intercept = logistic(odds[half, i], truth[half, i].astype(float))
        chance = 1 / (1 + np.exp(-(slope * odds[:, i] + intercept)))
        said[:, i] = chance >= SUGGEST.get(sign, 0.5)
        rows.append(f'{sign},{slope:.4f},{intercept:.4f},{SUGGEST.get(sign, 0.5)},measured,"{source}",2026-11')
        test = ~half
        report[sign] = {
            "present": float(truth[test, i].mean()),
            "recall": float(said[test & truth[:, i], i].mean()),
            "false": float(said[test & ~truth[:, i], i].mean()),
            "brier": float(((chance - truth[:, i])[test] ** 2).mean()),
        }
    (out / "rust_signs.csv").write_text("\n".join(rows) + "\n")
    lines = ["suggested,truth,pictures,chance,count,basis,source,as_of"]
    test = ~half
    cases = {"none": ~truth.any(1), **{sign: truth[:, i] for i, sign in enumerate(SIGNS)}}
    for i, sign in enumerate(SIGNS):
        for name, shown in cases.items():
            n = int((test & shown).sum())
            share = (float(said[test & shown, i].sum()) + 0.5) / (n + 1)
            lines.append(f'{sign},{name},synthetic,{share:.4f},{n},measured,"{other}",2026-11')
    photos = {"surface-rust": [i for items in groups.values() for i in items], "none": clean}
    fitted = [float(v) for v in rows[1].split(",")[1:4]]
    least = np.log(fitted[2] / (1 - fitted[2]))
    for name, items in photos.items():
        highs = np.array([np.quantile(i.odds, 0.997) for i in items])
        yes = int((fitted[0] * highs + fitted[1] >= least).sum())
        share = (yes + 0.5) / (len(items) + 1)
        lines.append(f'surface-rust,{name},photographs,{share:.4f},{len(items)},measured,"{held}",2026-11')
    (out / "machine_signs.csv").write_text("\n".join(lines) + "\n")
    return report


def sheet(items: list[Judged], scale: float, shift: float, out: Path, side: int = 120, across: int = 8) -> None:
    """Pairs of picture with the label's outline and picture with the model's overlay."""
    tiles = []
    for item in items:
        zoom = side / max(item.image.shape[:2])
        size = (max(1, round(item.image.shape[1] * zoom)), max(1, round(item.image.shape[0] * zoom)))
        image = cv2.resize(item.image, size, interpolation=cv2.INTER_AREA)
        label = cv2.resize((item.label == 1).astype(np.uint8), size, interpolation=cv2.INTER_NEAREST)
        chance = 1 / (1 + np.exp(-(scale * cv2.resize(item.odds, size) + shift)))
        marked = image.copy()
        cv2.drawContours(marked, cv2.findContours(label, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)[0], -1, (255, 255, 255), 1)
        tile = np.full((2 * side, side, 3), 244, np.uint8)
        tile[: size[1], : size[0]] = marked
        tile[side : side + size[1], : size[0]] = rust.overlay(image, chance.astype(np.float32))
        tiles.append(tile)
    while len(tiles) % across:
        tiles.append(np.full((2 * side, side, 3), 244, np.uint8))
    whole = np.vstack([np.hstack(tiles[i : i + across]) for i in range(0, len(tiles), across)])
    Image.fromarray(whole).quantize(48, dither=Image.Dither.NONE).save(out, optimize=True)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    for name in ("pack", "models", "out"):
        parser.add_argument(name, type=Path)
    parser.add_argument("--scale", type=float, default=1.0, help="what the models were exported with")
    parser.add_argument("--shift", type=float, default=0.0)
    given = parser.parse_args()
    outdoors, close = given.models / "other-cameras.onnx", given.models / "panels.onnx"
    phone = judged(given.pack, outdoors, [f"phone-rust/{n}" for n in CHECKED["phone-rust"]], source=True)
    tower = judged(given.pack, outdoors, [f"tower-boxes/{n}" for n in CHECKED["tower-boxes"]], source=True)
    every = {source: [f"{source}/{n}" for n in range(count)] for source, count in (("phone-rust", 50), ("tower-boxes", 53))}
    all_phone, all_tower = (judged(given.pack, outdoors, names) for names in every.values())
    bare = sorted((given.pack / "clean").iterdir())[::5]
    clean = judged(given.pack, outdoors, [f"clean/{path.stem}" for path in bare])
    sheets = [f"rust-polygons/{n}" for n in PANELS]
    panels = judged(given.pack, close, sheets)
    groups = {"phone-rust": phone, "tower-boxes": tower, "panels": panels}
    named = {
        **groups,
        "street-type": phone + tower,
        "all of phone-rust, own labels": all_phone,
        "all of tower-boxes, own labels": all_tower,
        "both, own labels": all_phone + all_tower,
        "bodies": [item for item in panels if int(item.name.split("/")[1]) in BODIES],
        "panels, labels as they came": judged(given.pack, close, sheets, source=True),
        "clean": clean,
    }
    if all((given.models / f"{half}.onnx").is_file() for half in HALVES):
        half_seen = [(given.models / f"{half}.onnx", [f"rust-polygons/{n}" for n in HALVES[half]]) for half in HALVES]
        named["panels, half of their scenes seen"] = [
            item for model, names in half_seen for item in judged(given.pack, model, names)
        ]
    if (whole := given.models / "polygons.onnx").is_file():
        # rust-polygons held out whole: its close-ups, and those of them that show vehicle bodies
        unseen = judged(given.pack, whole, sheets)
        named["panels, whole source held out"] = unseen
        named["bodies, whole source held out"] = [item for item in unseen if int(item.name.split("/")[1]) in BODIES]
    figures = {
        "better calibration": calibration(groups),
        "sources": {name: pooled(items, 1, 0) for name, items in named.items()},
        "signs": sign_tables(given.models, groups, clean, given.scale, given.shift, given.out),
    }
    (given.out / "figures.json").write_text(json.dumps(figures, indent=1))
    sheet(phone + tower[:12], 1, 0, given.out / "rust-model-held-out.png")
