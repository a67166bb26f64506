"""Print speed ratios from one run: belief and ask list against pyAgrum on the identical network and against reading memory."""

from __future__ import annotations

from measures.speed import speeds


def main() -> None:
    s = speeds()
    rows = [
        (f"belief of {s.zones} zones with {s.findings} findings", s.belief, "pyAgrum", s.other_belief),
        (f"belief of {s.zones} zones with {s.findings} findings", s.belief, "reading the model's arrays once", s.reading),
        (f"complete list of {s.asks} asks", s.asking, f"pyAgrum, {s.outcomes} outcomes (scaled from 12)", s.other_asking),
    ]
    for what, ours, other, theirs in rows:
        print(f"{what}: {ours * 1e3:.1f} ms; {other}: {theirs * 1e3:.2f} ms; ratio {theirs / ours:.3g}")
    print(f"one weighing, dossier to asks: {s.weighing:.2f} s")


if __name__ == "__main__":
    main()
