"""Recompute every number asked for and write docs/figures.md and docs/figures.json.

Each module of tools/measures has `measure() -> list[Figure]`; add a module there to add figures.
`python tools/figures.py phone speed` measures these modules alone and leaves the other rows as they stand.
"""

from __future__ import annotations

import importlib
import json
import os
import pkgutil
import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

import measures
from measures.figure import Figure

DOCS = Path(__file__).resolve().parent.parent / "docs"
HEAD = """# Figures

Every number that weldworth is asked to show, recomputed by `make figures` (also docs/figures.json). Do not edit by hand.

"""


def as_json(figures: Sequence[Figure]) -> str:
    """The figures as a list of name, value, unit, target, met, how, on."""
    return json.dumps([asdict(figure) for figure in figures], indent=2, ensure_ascii=False) + "\n"


def as_page(figures: Sequence[Figure]) -> str:
    """The figures as a table, those that miss their target first named above it."""
    missed = [figure.name for figure in figures if not figure.met]
    lines = [f"{len(figures) - len(missed)} of {len(figures)} meet their target."]
    if missed:
        lines += ["", "Missed: " + "; ".join(missed) + "."]
    lines += ["", "| what | value | target | met | how, and on what |", "|---|---|---|---|---|"]
    for figure in figures:
        value = f"{figure.value:.4g}" if isinstance(figure.value, float) else str(figure.value)
        cells = (figure.name, f"{value} {figure.unit}".strip(), figure.target, "yes" if figure.met else "**no**")
        lines.append("| " + " | ".join(cell.replace("|", "\\|") for cell in (*cells, f"{figure.how}; {figure.on}")) + " |")
    return HEAD + "\n".join(lines) + "\n"


def measured(names: Sequence[str]) -> list[Figure]:
    """The figures of modules of tools/measures."""
    figures: list[Figure] = []
    for name in names:
        print(f"measuring {name}", file=sys.stderr)
        cores = os.sched_getaffinity(0) if hasattr(os, "sched_getaffinity") else set()
        figures += importlib.import_module(f"measures.{name}").measure()
        if cores:
            os.sched_setaffinity(0, cores)  # some modules pin themselves to one core
    return figures


def renewed(old: Sequence[Figure], new: Sequence[Figure]) -> list[Figure]:
    """The old figures with the new ones where the first that has one of their names stands, and without those that have."""
    names = {figure.name for figure in new}
    at = next((n for n, figure in enumerate(old) if figure.name in names), len(old))
    return [*old[:at], *new, *(figure for figure in old[at:] if figure.name not in names)]


def main() -> None:
    every = sorted(info.name for info in pkgutil.iter_modules(measures.__path__) if info.name != "figure")
    if unknown := set(sys.argv[1:]) - set(every):
        sys.exit(f"no figures are called {', '.join(sorted(unknown))}; there are {', '.join(every)}")
    figures = measured(sys.argv[1:] or every)
    if sys.argv[1:]:
        kept = [Figure(**row) for row in json.loads((DOCS / "figures.json").read_text(encoding="utf-8"))]
        figures = renewed(kept, figures)
    (DOCS / "figures.json").write_text(as_json(figures), encoding="utf-8")
    (DOCS / "figures.md").write_text(as_page(figures), encoding="utf-8")
    for figure in figures:
        print(f"{'met   ' if figure.met else 'MISSED'} {figure.name}: {figure.value} {figure.unit} (target: {figure.target})")


if __name__ == "__main__":
    main()
