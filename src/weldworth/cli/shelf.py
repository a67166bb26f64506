"""import, export and verify: dossier folders in and out of the shop, and its chains of hashes looked over."""

from __future__ import annotations

from pathlib import Path

import typer

from weldworth.bootstrap import home, open_desk
from weldworth.cli.output import say, working
from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.core.words import nearest
from weldworth.report.promised import as_text
from weldworth.workbench.lines import CandidateLine

SHORTEST_ID = 4


def import_folder(dossier: Path, *, where: Path | None, as_json: bool) -> None:
    """weldworth import."""
    place = home(where)
    desk = open_desk(place)
    with working("Taking the dossier in", quiet=as_json):
        id = desk.import_dossier(dossier, desk.people.owner().id)
    view = desk.candidate(id)
    if as_json:
        say(
            as_text({"candidate": id, "name": view.dossier.vehicle.name, "entries": view.revision, "head": view.entries[-1].hash})
        )
        return
    say(f"{view.dossier.vehicle.name} is in the shop {place} as {id}: {view.revision} entries, {len(view.pictures)} pictures.")


def export_folder(candidate: str, folder: Path, *, where: Path | None, as_json: bool) -> None:
    """weldworth export."""
    desk = open_desk(home(where))
    line = _meant(candidate, desk.candidates(archived=None))
    with working("Writing the dossier", quiet=as_json):
        desk.export_dossier(line.id, folder)
    if as_json:
        say(as_text({"candidate": line.id, "name": line.name, "folder": str(folder)}))
        return
    say(f"{line.name} is in {folder}, with everything recorded about it in ledger.jsonl.")


def verify_chains(*, where: Path | None, as_json: bool) -> None:
    """weldworth verify; leaves with exit code 1 where a chain is broken."""
    desk = open_desk(home(where))
    lines = desk.candidates(archived=None)
    broken = desk.verify()
    if as_json:
        told = {id: [{"where": p.where, "text": p.text} for p in problems] for id, problems in broken.items()}
        say(
            as_text({"ok": not broken, "candidates": len(lines), "entries": sum(line.revision for line in lines), "broken": told})
        )
    else:
        names = {line.id: line.name for line in lines}
        for id, problems in broken.items():
            say("\n".join(f"{names.get(id, id)} ({id}): {problem}" for problem in problems))
        whole = f"{len(lines)} candidates, {sum(line.revision for line in lines)} entries"
        say(f"{whole}: every chain holds." if not broken else f"{whole}: {len(broken)} broken.")
    if broken:
        raise typer.Exit(1)


def _meant(word: str, lines: list[CandidateLine]) -> CandidateLine:
    """The candidate of this id, of this beginning of an id, or of this name; raises NotFound or BadInput."""
    found = [line for line in lines if line.id == word] or [line for line in lines if line.name.casefold() == word.casefold()]
    if not found and len(word) >= SHORTEST_ID:
        found = [line for line in lines if line.id.startswith(word.casefold())]
    if len(found) > 1:
        ids = ", ".join(line.id for line in found[:4])
        raise BadInput([Problem("CANDIDATE", f"{word!r} may be one of {len(found)}; give its id: {ids}")])
    if not found:
        near = nearest(word, [line.name for line in lines])
        raise NotFound(f"there is no candidate {word!r} in this shop" + (f"; nearest: {near!r}" if near else ""))
    return found[0]
