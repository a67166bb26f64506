"""The drawings on the shelf: how many, how large, how small their smallest zone is to a finger, how long the build took."""

from __future__ import annotations

import gzip
import json
from pathlib import Path

from measures.figure import Figure
from weldworth.drawings import bodies, views
from weldworth.drawings.shelf import SHIPPED

BUILT = Path(__file__).resolve().parents[2] / "docs" / "drawings" / "built.json"


def measure() -> list[Figure]:
    figures = []
    for body in bodies():
        known, best = views(body), {}
        for view in known:
            for zone, px in view.taps.items():
                best[zone] = max(px, best.get(zone, 0.0))
        forms = [view.form for view in known]
        counts = ", ".join(
            str(n) for n in (len(best), len(known), *(forms.count(form) for form in ("whole", "portrait", "crop")))
        )
        pictograms = len(list((SHIPPED / body / "asks").glob("*.svg")))
        figures += [
            _figure(
                f"{body}: zones, views, of them wholes, upright for a phone, close-ups; pictograms",
                f"{counts}; {pictograms}",
                "",
                "stated",
                True,
            ),
            _figure(f"{body}: smallest tap area", min(best.values()), "px at 360", "at least 24", min(best.values()) >= 24),
        ]
    files = sorted(path for body in bodies() for path in (SHIPPED / body).glob("*.svg"))
    sizes = [path.stat().st_size / 1000 for path in files]
    packed = [len(gzip.compress(path.read_bytes(), 9, mtime=0)) / 1000 for path in files]
    asks = [path.stat().st_size / 1000 for path in SHIPPED.glob("*/asks/*.svg")]
    built = json.loads(BUILT.read_text(encoding="utf-8"))
    return [
        *figures,
        _figure("largest drawing", round(max(sizes), 1), "kB", "under 60", max(sizes) < 60),
        _figure("largest drawing, compressed", round(max(packed), 1), "kB", "under 20", max(packed) < 20),
        _figure("all drawings, all pictograms", f"{sum(sizes):.0f}, {sum(asks):.0f}", "kB", "stated", True),
        Figure(
            "building all drawings: processor, on the clock",
            f"{built['processor_seconds']:.0f}, {built['clock_seconds']:.0f}",
            "s",
            "stated",
            True,
            "measured at the last build of all five bodies, not anew here",
            built["on"],
        ),
    ]


def _figure(name: str, value: float | str, unit: str, target: str, met: bool) -> Figure:
    return Figure(f"drawings: {name}", value, unit, target, met, "counted in the files", "the drawings in the package")
