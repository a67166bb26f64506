"""What was seen and what was not: doubts that stand beside the numbers."""

from __future__ import annotations

from weldworth.belief.believe import Belief
from weldworth.core.remark import Remark
from weldworth.vehicle.plan import Plan


def seen_zones(belief: Belief) -> frozenset[str]:
    """Zones that some picture, hand or reading spoke of directly; words, tells, answers and refusals do not count."""
    return frozenset(
        piece.zone
        for piece in belief.pieces
        if not piece.kind.startswith(("tell", "answer")) and piece.kind not in ("refusal", "cause") and piece.by != "words"
    )


def coverage(plan: Plan, belief: Belief) -> list[Remark]:
    """Remarks on what nobody has seen: structural metal, sentinels."""
    seen = seen_zones(belief)
    remarks = []
    structural = [zone for zone in plan.zones if zone.structural == "yes"]
    unseen = [zone for zone in structural if zone.id not in seen]
    if unseen:
        unknown = f"nobody has seen {len(unseen)} of {len(structural)} structural zones"
        text = f"{unknown}; their belief is what the rest of the vehicle says"
        remarks.append(Remark("unseen-structure", "structure", text))
    for sentinel in plan.sentinels:
        if sentinel.zone in plan.index and sentinel.zone not in seen:
            text = f"{plan.zone(sentinel.zone).label} usually rusts first of {sentinel.of} and nobody has seen it"
            remarks.append(Remark("unseen-sentinel", sentinel.zone, text))
    return remarks
