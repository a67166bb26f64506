"""What was seen and what was not: doubts that stand beside the numbers."""

from __future__ import annotations

from weldworth.belief.believe import Belief
from weldworth.core.remark import Remark
from weldworth.vehicle.plan import Plan
from weldworth.workbench.dossier import Dossier


def seen_zones(belief: Belief) -> frozenset[str]:
    """Zones that some picture, hand or reading spoke of directly; words, tells, answers and refusals do not count."""
    return frozenset(
        piece.zone
        for piece in belief.pieces
        if not piece.kind.startswith(("tell", "answer")) and piece.kind not in ("refusal", "cause") and piece.by != "words"
    )


def coverage(plan: Plan, dossier: Dossier, belief: Belief) -> list[Remark]:
    """Remarks on what nobody has seen: structural metal, sentinels, pictures that no finding names."""
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
    named = {getattr(record, "picture", None) for record in dossier.records}
    spare = [picture for picture in dossier.pictures if picture not in named]
    if spare:
        what = "1 picture is" if len(spare) == 1 else f"{len(spare)} pictures are"
        text = f"{what} named by no finding and not weighed: {', '.join(spare[:5])}"
        remarks.append(Remark("unread-pictures", "pictures", text))
    return remarks
