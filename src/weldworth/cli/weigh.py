"""weigh and asks: from a dossier folder to the terminal, to JSON and to a report."""

from __future__ import annotations

from pathlib import Path

from weldworth.belief.believe import reasons
from weldworth.bootstrap import day, looked_at, shop_tables
from weldworth.cli.output import counting, printed, put, report_path, say, working
from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import unknown
from weldworth.report.compose import sheet
from weldworth.report.metal import zone_row
from weldworth.report.promised import as_text, asks_json, weighing_json, zone_json
from weldworth.report.text import Printer, print_asks, print_sheet, print_zone
from weldworth.store.folder import read_dossier
from weldworth.tables import Tables
from weldworth.workbench.coverage import seen_zones
from weldworth.workbench.weigh import Weighing, weigh


def weighed(dossier: Path, tables: Tables, *, seed: int, today: str | None, quiet: bool, asks: int = 5) -> Weighing:
    """The weighing of the dossier in this folder; says on a terminal what it is at."""
    on = day(today)
    with working("Reading the dossier", quiet=quiet):
        read = read_dossier(dossier, tables, today=on)
    with counting("Looking at pictures", quiet=quiet) as count:
        read = looked_at(read, tables, count)
    with working(f"Weighing {read.folder}: metal, bill, ceiling, asks", quiet=quiet):
        return weigh(read, tables, today=on, seed=seed, asks=asks)


def weigh_dossier(dossier: Path, *, as_json: bool, report: Path | None, seed: int, zone: str | None, today: str | None) -> None:
    """weldworth weigh."""
    target, tables = report_path(report), shop_tables()
    found = weighed(dossier, tables, seed=seed, today=today, quiet=as_json)
    if zone is not None:
        _known(found, zone)
    if target is not None:
        from weldworth.report.pdf import weighing_pdf

        with working("Writing the report", quiet=as_json):
            put(target, weighing_pdf(sheet(found, tables, worst=12)))
    if zone is not None:
        _explain(found, zone, tables, as_json=as_json)
    elif as_json:
        say(as_text(weighing_json(found)))
    else:
        with printed() as shown:
            print_sheet(sheet(found, tables), shown)
    if target is not None and not as_json:
        say(f"Report: {target}")


def _known(found: Weighing, zone: str) -> None:
    if zone not in found.plan.index:
        raise BadInput([Problem("--zone", unknown("zone", zone, found.plan.index))])


def _explain(found: Weighing, zone: str, tables: Tables, *, as_json: bool) -> None:
    """One zone before and after the evidence, and what moved it."""
    moved = reasons(found.belief, zone, tables)
    if as_json:
        say(as_text(zone_json(found, zone, moved)))
        return
    at, index = found.plan.zone(zone), found.plan.index[zone]
    seen = zone in seen_zones(found.belief)
    before, after = (zone_row(at, rows[index].tolist(), seen) for rows in (found.belief.prior, found.belief.zones))
    with printed() as shown:
        print_zone(before, after, moved, Printer(shown))


def ask_about(dossier: Path, *, count: int, as_json: bool, seed: int, today: str | None) -> None:
    """weldworth asks."""
    tables = shop_tables()
    found = weighed(dossier, tables, seed=seed, today=today, quiet=as_json, asks=count)
    if as_json:
        say(as_text(asks_json(found)))
        return
    report = sheet(found, tables)
    with printed() as shown:
        printer = Printer(shown)
        printer.line((report.title, "bold"))
        printer.line(report.decision.advice)
        print_asks(report.asks, printer, most=12, send=True)
