"""A drawing without what lies outside the part that is shown, so that a close-up does not carry the whole vehicle."""

from __future__ import annotations

import re

Box = tuple[int, int, int, int]
_STEP = re.compile(r"([Mlhvcz])([^Mlhvcz]*)")
_NUMBER = re.compile(r"-?\d+")
_PATH = re.compile(r'(<path [^>]*?)d="([^"]*)"(/>|></path>)\n?')


def _runs(d: str) -> list[tuple[str, Box]]:
    """Every run of path data from one M to the next, with its bounds: left, top, right, bottom of points and handles."""
    found: list[tuple[str, Box]] = []
    for run in re.findall(r"M[^M]*", d):
        x = y = 0
        xs: list[int] = []
        ys: list[int] = []
        for command, rest in _STEP.findall(run):
            n = [int(q) for q in _NUMBER.findall(rest)]
            if command == "M":
                x, y, n = n[0], n[1], [0, 0]
            elif command in "hv":
                n = [n[0], 0] if command == "h" else [0, n[0]]
            xs += [x + q for q in n[::2]]
            ys += [y + q for q in n[1::2]]
            if n:
                x, y = xs[-1], ys[-1]
        found.append((run, (min(xs), min(ys), max(xs), max(ys))))
    return found


def path_within(d: str, box: Box) -> str:
    """Path data without the runs that lie outside the box (x, y, width, height).

    d : whole numbers, relative after each M, as the drawing files have it. Inside the box an even-odd fill stays as it was.
    """
    left, top, width, height = box
    edge = width // 100 + 1  # half a line's weight reaches inside
    kept = [
        run
        for run, (x0, y0, x1, y1) in _runs(d)
        if x0 <= left + width + edge and x1 >= left - edge and y0 <= top + height + edge and y1 >= top - edge
    ]
    return "".join(kept)


def group_within(group: str, box: Box) -> str:
    """A group of path elements without what lies outside the box; elements of which nothing is left go."""

    def kept(match: re.Match[str]) -> str:
        d = path_within(match[2], box)
        return f'{match[1]}d="{d}"{match[3]}\n' if d else ""

    return _PATH.sub(kept, group)
