"""Recompute every number asked for and write docs/figures.md and docs/figures.json.

Each module of tools/measures has `measure() -> list[Figure]`; add a module there to add figures.
"""

from __future__ import annotations

import importlib
import json
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


def measured() -> list[Figure]:
    """The figures of every module of tools/measures, modules by name."""
    figures: list[Figure] = []
    for info in sorted(pkgutil.iter_modules(measures.__path__), key=lambda info: info.name):
        if info.name != "figure":
            print(f"measuring {info.name}", file=sys.stderr)
            figures += importlib.import_module(f"measures.{info.name}").measure()
    return figures


def main() -> None:
    figures = measured()
    (DOCS / "figures.json").write_text(as_json(figures), encoding="utf-8")
    (DOCS / "figures.md").write_text(as_page(figures), encoding="utf-8")
    for figure in figures:
        print(f"{'met   ' if figure.met else 'MISSED'} {figure.name}: {figure.value} {figure.unit} (target: {figure.target})")


if __name__ == "__main__":
    main()
