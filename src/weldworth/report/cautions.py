"""The cautions, each one sentence, shown where the work they speak of is shown."""

from __future__ import annotations

from collections.abc import Iterable

NOT_AN_APPRAISAL = "This is not an appraisal and not a roadworthiness or safety inspection."
STRUCTURE = (
    "Structural metal is for a licensed workshop and local inspection law to judge; nothing here says that it may be mended."
)
UNDERNEATH = "Never under a vehicle on a jack; on rusty metal the stand point itself may fold."
PROBE = "Probe only with the owner's leave, and never at fuel tanks, fuel or brake lines or springs under load."
HOT_WORK = (
    "Before welding or grinding: battery out, fuel tank out or well away, trim and foam back, extinguisher and a second "
    "person at hand, and watch for an hour afterwards."
)
DUST = "Old paint may hold lead and old sealers asbestos: work wet, wear the right mask, bag the dust."
ACID = "Battery acid: goggles and gloves, soda and water, no sparks."
GLASS = "Old glass cracks: gloves and eye cover, two people, never pry a bonded edge with rust under it."
FIRST_DRIVE = "Fetch it on a trailer; new brake hoses and tires by their date come before the first drive."


def cautions(zone_kinds: Iterable[str], codes: Iterable[str]) -> tuple[str, ...]:
    """The cautions for a vehicle with these zones in whose bill work with these codes may come up."""
    kinds, work = list(zone_kinds), list(codes)
    found = [NOT_AN_APPRAISAL, STRUCTURE, UNDERNEATH, PROBE]
    if work:
        found += [HOT_WORK, DUST]
    if any("battery" in kind for kind in kinds):
        found.append(ACID)
    if any("glass" in code.lower() for code in work):
        found.append(GLASS)
    return (*found, FIRST_DRIVE)
