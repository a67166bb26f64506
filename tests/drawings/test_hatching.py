"""Tint and hatch read on both ends of the ramp, on the light page and on the dark one."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import weldworth
from weldworth.drawings.toned import INK, PAPER, RAMP

TOKENS = (Path(weldworth.__file__).parent / "web" / "static" / "tokens.css").read_text(encoding="utf-8")
GRAPHIC = 3.0  # WCAG 2.2, success criterion 1.4.11, non-text contrast: 3 to 1 against what is adjacent
LIGHT, SYSTEM_DARK, CHOSEN_DARK = (
    dict(re.findall(r"--(d-ink|d-paper|c\d):(#[0-9a-f]{6})", block))
    for block in (
        TOKENS[TOKENS.index(":root{") : TOKENS.index("@media (prefers-color-scheme:dark)")],
        TOKENS[TOKENS.index("@media (prefers-color-scheme:dark)") : TOKENS.index(":root[data-theme=dark]")],
        TOKENS[TOKENS.index(":root[data-theme=dark]") :],
    )
)
ON_SCREEN = {"light": LIGHT, "dark by the system": LIGHT | SYSTEM_DARK, "dark by choice": LIGHT | CHOSEN_DARK}
SCHEMES = {
    "on its own": {"d-ink": INK, "d-paper": PAPER} | {f"c{k}": colour for k, colour in enumerate(RAMP)},
    **ON_SCREEN,
}


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it, of #rrggbb."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    r, g, b = (q / 12.92 if q <= 0.04045 else ((q + 0.055) / 1.055) ** 2.4 for q in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    """Contrast ratio as WCAG 2.2 defines it."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_formula_gives_the_ratios_that_the_standard_names() -> None:
    """Black on white is 21 to 1 (WCAG 2.2, definition of contrast ratio: from 1 to 21)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#123456", "#123456") == pytest.approx(1.0)


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("step", range(9))
def test_one_line_of_every_hatch_stands_out_from_the_tint_under_it(scheme: str, step: int) -> None:
    """Each hatch line is a line of ink beside a line of paper: on pale the ink reads, on deep the paper."""
    colours = SCHEMES[scheme]
    tint = colours[f"c{step}"]
    assert max(contrast(tint, colours["d-ink"]), contrast(tint, colours["d-paper"])) >= GRAPHIC


@pytest.mark.parametrize("scheme", SCHEMES)
def test_the_two_lines_of_a_hatch_stand_out_from_one_another(scheme: str) -> None:
    assert contrast(SCHEMES[scheme]["d-ink"], SCHEMES[scheme]["d-paper"]) >= 7


@pytest.mark.parametrize("scheme", SCHEMES)
def test_worse_is_deeper_in_grey_too_and_the_ends_lie_far_apart(scheme: str) -> None:
    """A grey print keeps the luminance alone."""
    tints = [SCHEMES[scheme][f"c{step}"] for step in range(9)]
    light = [luminance(tint) for tint in tints]
    assert light == sorted(light, reverse=True)
    assert contrast(tints[0], tints[-1]) >= 7
