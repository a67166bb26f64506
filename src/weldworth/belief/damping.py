"""What damping leaves of each piece of evidence: pieces that share a cause are not counted as if they were independent."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from weldworth.belief.looking import said_by
from weldworth.belief.network import Array
from weldworth.belief.pieces import ACTS, MACHINE, Piece
from weldworth.vehicle.plan import Plan


def damp(plan: Plan, pieces: Iterable[Piece], damping: Mapping[str, float]) -> list[Piece]:
    """The pieces with the power that is left to each.

    Pieces of one kind at one zone share a cause: the strongest counts in full, the next at `further`, then its square, ...
    So do pieces by the machine of one picture at one zone, whatever their kinds: one eye made them all. People come before the
    machine, whose word never weakens theirs.
    What one look with the probe reported is one voice, weighed as a whole (`belief.looking`).
    A tell counts with the power `tell` besides; a coat or a refusal that shows at n zones of a cause group with n ** one_act.
    The order of recording does not matter: ties are broken by what the piece says.
    """
    by_strength = sorted(
        pieces, key=lambda p: (p.zone, p.kind, p.by == MACHINE, -p.strength, p.text, p.log_likelihood.tolist(), p.where)
    )
    return damp_ranked(plan, by_strength, damping)


def left(plan: Plan, pieces: Iterable[Piece], damping: Mapping[str, float]) -> Array:
    """What pieces at one zone add to its evidence in all, per condition, (6,): log-likelihoods, as `damp` leaves them."""
    return np.asarray(sum((piece.said for piece in damp(plan, pieces, damping)), np.zeros(6)))


def beside(pieces: Sequence[Piece], kind: str) -> list[Piece]:
    """Of the pieces at one zone those that one more of a kind, by a person, shares its damping with."""
    same = [piece for piece in pieces if piece.kind == kind]
    if not any(piece.by == MACHINE for piece in same):
        return same
    return [piece for piece in pieces if piece.kind == kind or piece.by == MACHINE]


def damp_ranked(plan: Plan, ranked: Sequence[Piece], damping: Mapping[str, float]) -> list[Piece]:
    """What `damp` gives, of pieces in the order that it gave them, some of them left out: they need not be put in order anew."""
    acts: dict[tuple[str, str, bool], set[str]] = {}
    for piece in ranked:
        if piece.kind in ACTS:
            for machine in {piece.by == MACHINE, True}:
                acts.setdefault((piece.kind, plan.zone(piece.zone).cause, machine), set()).add(piece.zone)
    damped = []
    before: dict[tuple[str, str], int] = {}
    eyes, looks = _eyes(ranked), _looks(ranked)
    for piece in ranked:
        look = looks[piece.zone, piece.probed.look] if piece.probed else (piece,)
        if piece is not look[0]:
            damped.append(replace(piece, power=0.0, together=None))
            continue
        kind = (piece.zone, piece.kind)
        rank = before[kind] = before.get(kind, -1) + 1
        power = damping["further"] ** max(rank, eyes.get(id(piece), 0))
        if piece.kind.startswith("tell"):
            power *= damping["tell"]
        if piece.kind in ACTS:
            zones = acts[piece.kind, plan.zone(piece.zone).cause, piece.by == MACHINE]
            power *= float(len(zones) ** damping["one_act"])
        together = said_by([one.probed for one in look if one.probed]) if len(look) > 1 else None
        if power != piece.power or together is not piece.together:
            piece = replace(piece, power=power, together=None if together is None else np.log(together))
        damped.append(piece)
    return damped


def _looks(ranked: Iterable[Piece]) -> dict[tuple[str, Hashable], list[Piece]]:
    """The pieces that one look with the probe reported at one zone, the strongest first."""
    found: dict[tuple[str, Hashable], list[Piece]] = {}
    for piece in ranked:
        if piece.probed:
            found.setdefault((piece.zone, piece.probed.look), []).append(piece)
    return found


def _eyes(ranked: Iterable[Piece]) -> dict[int, int]:
    """For each piece by the machine, how many stronger ones the same picture gave at the same zone; by the piece's identity."""
    found: dict[int, int] = {}
    before: dict[tuple[str, str], int] = {}
    for piece in sorted((piece for piece in ranked if piece.by == MACHINE), key=lambda piece: -piece.strength):
        look = (piece.zone, piece.where)
        found[id(piece)] = before[look] = before.get(look, -1) + 1
    return found
