"""Builds the drawings of the bodies: python drawings/build.py [body ...] [--only view,view] [--coarse] [--preview FOLDER]

A whole body is written to a folder beside the shelf and put in its place when it is complete; with --shelf, on another shelf.
"""

from __future__ import annotations

import argparse
import gzip
import importlib
import json
import os
import shutil
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

from engine.drawing import Drawing
from engine.raster import render
from engine.solid import Body
from engine.svg import hits_of, svg_of
from pictograms import Pictograms, asked
from views import Crop, ViewOf

BODIES = ("coupe", "open-tub", "pickup", "roadster", "van")
HOME = Path(__file__).resolve().parent.parent
SHELF = HOME / "src" / "weldworth" / "drawings"
PLANS = HOME / "src" / "weldworth" / "tables" / "plans"
BEGAN = time.perf_counter()
BUILT = HOME / "docs" / "drawings" / "built.json"
LIMIT, PACKED, ROOM = 60_000, 20_000, 200
FOLLOWED = ((0.5, 0.25), (0.5, 0.35), (0.5, 0.5), (0.6, 0.6), (0.7, 0.7), (0.8, 0.8), (1.2, 1.2))  # px: long lines, short ones
BETWEEN = 3  # odd: a border that was found never lies halfway, where those lie that were not


def draw(body: Body, view: ViewOf, folder: Path) -> list[dict[str, Any]]:
    """Draws one view into its file; gives the entries of the index for its whole, portrait and cropped forms."""
    kept = {"without": view.without, "only": view.only, "clip": view.clip, "bounds": view.bounds}
    picture = render(body, view.axes, view.px, between=BETWEEN, **kept)
    drawing = Drawing(body, picture, unit=view.unit, plain=view.plain)
    sizes, hits = drawing.taps()
    for close in FOLLOWED:  # as close as the size of the file allows
        drawing.fit(*close)
        text = svg_of(drawing, view.name, view.title, hits, view.px_wide)
        if len(text.encode()) < LIMIT - ROOM and len(gzip.compress(text.encode(), 6)) < PACKED - ROOM:
            break
    (folder / f"{view.name}.svg").write_text(text, encoding="utf-8")
    entries = [_entry(view, view.name, view.title, "whole", (0, 0, *drawing.size), 0, view.px_wide, sizes, "")]
    if view.portrait and drawing.size[0] > drawing.size[1]:
        name = f"{view.name}-tall"
        entries.append(_form(drawing, view, name, view.title, "portrait", (0, 0, *drawing.size), 90, 420, folder))
    for crop in view.crops:
        box = _box(drawing, crop)
        entries.append(
            _form(drawing, view, f"{view.name}-{crop.name}", f"{view.title}: {crop.title}", "crop", box, 0, 480, folder)
        )
    return entries


def _form(
    drawing: Drawing,
    view: ViewOf,
    name: str,
    title: str,
    form: str,
    box: tuple[int, int, int, int],
    turn: int,
    px: float,
    folder: Path,
) -> dict[str, Any]:
    sizes, hits = drawing.taps(box, bool(turn))
    (folder / f"{name}.taps").write_text(hits_of(hits) + "\n", encoding="utf-8")
    return _entry(view, name, title, form, box, turn, px, sizes, f"{name}.taps")


def _entry(
    view: ViewOf, name: str, title: str, form: str, box: tuple[int, ...], turn: int, px: float, sizes: dict[str, float], taps: str
) -> dict[str, Any]:
    return {
        "name": name,
        "title": title,
        "form": form,
        "file": f"{view.name}.svg",
        "taps_file": taps,
        "box": list(box),
        "turn": turn,
        "mm_per_unit": view.unit,
        "px_wide": px,
        "taps": dict(sorted(sizes.items())),
    }


def _box(drawing: Drawing, crop: Crop) -> tuple[int, int, int, int]:
    left, bottom, right, top = crop.box
    x0, _, _, y1 = drawing.picture.bounds
    k = drawing.unit
    x, y = max(0, round((left - x0) / k)), max(0, round((y1 - top) / k))
    return x, y, min(round((right - left) / k), drawing.size[0] - x), min(round((top - bottom) / k), drawing.size[1] - y)


def build(name: str, only: tuple[str, ...], coarse: bool, preview: Path | None, shelf: Path = SHELF) -> None:
    """Builds one body onto the shelf, whole or not at all, or with `coarse` or `only` into the preview folder alone."""
    module, views = (
        importlib.import_module(f"bodies.{name.replace('-', '_')}"),
        importlib.import_module(f"bodies.{name.replace('-', '_')}_views"),
    )
    partly = bool(only) or coarse
    new = HOME / "build" / "drawings" / f"new-{os.getpid()}-{name}"
    folder = (preview or Path("build/drawings")) / name if partly else new
    folder.mkdir(parents=True, exist_ok=True)
    body = module.build()
    entries: list[dict[str, Any]] = []
    for view in views.VIEWS:
        if only and view.name not in only:
            continue
        start = time.perf_counter()
        entries += draw(body, replace(view, px=view.px * (2 if coarse else 1)), folder)
        size = (folder / f"{view.name}.svg").stat().st_size
        _say(
            f"{name} {view.name}: {size / 1000:.1f} kB, {time.perf_counter() - start:.1f} s{'  TOO BIG' if size > LIMIT else ''}"
        )
    if not partly:
        index = {"body": name, "code": module.CODE, "views": entries}
        (folder / "index.json").write_text(json.dumps(index, indent=1) + "\n", encoding="utf-8")
        asks(name, folder / "asks")
        _put(new, shelf / name)
    best: dict[str, float] = {}
    for entry in entries:
        for zone, size in entry["taps"].items():
            best[zone] = max(best.get(zone, 0), size)
    _say(
        f"{name}: {time.process_time():.0f} s of the processor so far; {len(best)} zones; smallest taps "
        + ", ".join(f"{z} {s}" for z, s in sorted(best.items(), key=lambda q: q[1])[:8])
    )


def _put(new: Path, place: Path) -> None:
    """Puts a complete folder where the old one is; an interrupted build leaves the old one as it was."""
    place.parent.mkdir(parents=True, exist_ok=True)
    old = new.with_name(new.name + "-old")
    if place.exists():
        shutil.move(place, old)
    shutil.move(new, place)
    shutil.rmtree(old, ignore_errors=True)


def asks(name: str, folder: Path, only: tuple[str, ...] = ()) -> None:
    """Draws the pictograms of every picture that the zones of the body's plan ask for."""
    module, views = (
        importlib.import_module(f"bodies.{name.replace('-', '_')}"),
        importlib.import_module(f"bodies.{name.replace('-', '_')}_views"),
    )
    folder.mkdir(parents=True, exist_ok=True)
    start = time.perf_counter()
    makers: dict[str, Pictograms] = {}
    sizes: list[int] = []
    for zone, number, word, station in asked(PLANS / f"{name}.toml"):
        if not only or zone in only:
            maker = makers.get(name) or makers.setdefault(
                name, Pictograms(module.build(), views.VIEWS, getattr(views, "STANDS", None))
            )
            text = maker.draw(zone, word, station)
            (folder / f"{zone}.{number}.svg").write_text(text, encoding="utf-8")
            sizes.append(len(text))
    _say(f"{name}: {len(sizes)} pictograms, {max(sizes) / 1000:.1f} kB at most, {time.perf_counter() - start:.1f} s")


def _say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("body", nargs="*", default=list(BODIES))
    parser.add_argument("--only", default="", help="views, with commas; written to the preview folder alone")
    parser.add_argument("--coarse", action="store_true", help="half resolution; written to the preview folder alone")
    parser.add_argument("--preview", type=Path)
    parser.add_argument("--shelf", type=Path, default=SHELF, help="where whole bodies are put")
    given = parser.parse_args()
    only = tuple(v for v in given.only.split(",") if v)
    for name in given.body:
        build(name, only, given.coarse, given.preview, given.shelf)
    if given.shelf == SHELF and not only and not given.coarse and set(given.body) == set(BODIES):
        spent = {"processor_seconds": round(time.process_time(), 1), "clock_seconds": round(time.perf_counter() - BEGAN, 1)}
        machine = f"{os.cpu_count()} cores, one used"
        BUILT.write_text(json.dumps(spent | {"on": machine}, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
