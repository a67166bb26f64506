"""demo: the shipped dossiers copied to where the trader can change them, weighed and reported."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import weldworth
from weldworth.bootstrap import home, shop_tables
from weldworth.cli.output import printed, put, say, working
from weldworth.cli.weigh import weighed
from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.report.compose import sheet
from weldworth.report.deal import price_range
from weldworth.report.numbers import money, span, top_price
from weldworth.report.pdf import weighing_pdf
from weldworth.report.promised import as_text, weighing_json
from weldworth.report.text import Printer, print_sheet
from weldworth.store.folder import CANDIDATE
from weldworth.tables import Tables
from weldworth.workbench.weigh import Weighing

SHIPPED = Path(weldworth.__file__).parent / "demo"


@dataclass(frozen=True)
class Shown:
    """One demo dossier: its folder, its report and its weighing."""

    folder: Path
    report: Path
    weighing: Weighing


def show_demo(where: Path | None, *, as_json: bool, seed: int, today: str | None) -> list[Path]:
    """weldworth demo; the folders of the dossiers."""
    base, tables = home(where), shop_tables()
    folders, kept = copied(base / "demo")
    shown = [_shown(folder, base / "reports", tables, seed=seed, today=today, quiet=as_json) for folder in folders]
    if as_json:
        listed = [{"folder": str(s.folder), "report": str(s.report), "weighing": weighing_json(s.weighing)} for s in shown]
        say(as_text({"home": str(base), "kept": [str(path) for path in kept], "dossiers": listed}))
        return folders
    chosen = max(shown, key=lambda s: max(s.weighing.ranking.best.worth, default=0.0))
    with printed() as out:
        printer = Printer(out)
        _table(printer, shown)
        printer.head(f"{chosen.weighing.dossier.folder} in full")
        print_sheet(sheet(chosen.weighing, tables), out)
        printer.head("Where it lies")
    kept_lines = [f"  Kept as you changed it: {path}" for path in kept]
    places = [f"  Dossiers: {base / 'demo'}", f"  Reports: {base / 'reports'}", f"  One alone: weldworth weigh {chosen.folder}"]
    say("\n".join([*kept_lines, *places]))
    return folders


def copied(target: Path, shipped: Path = SHIPPED) -> tuple[list[Path], list[Path]]:
    """Copy the shipped dossiers into `target`: (their folders there, the files that were changed there and are kept).

    Raises NotFound when none is shipped and BadInput when the folder cannot be written.
    """
    sources = sorted(path.parent for path in shipped.glob(f"*/{CANDIDATE}"))
    if not sources:
        raise NotFound(f"{shipped}: holds no demo dossiers; install weldworth anew")
    kept = []
    try:
        for source in sources:
            for file in sorted(path for path in source.rglob("*") if path.is_file()):
                there = target / file.relative_to(shipped)
                content = file.read_bytes()
                if there.exists():
                    kept += [there] if there.read_bytes() != content else []
                    continue
                there.parent.mkdir(parents=True, exist_ok=True)
                put(there, content)
    except OSError as error:
        raise BadInput([Problem("--home", f"{target} cannot be used: {error.strerror}; give another folder")]) from None
    return [target / source.name for source in sources], kept


def _shown(folder: Path, reports: Path, tables: Tables, *, seed: int, today: str | None, quiet: bool) -> Shown:
    """Weigh one and write its report; problems name the dossier that they are in."""
    try:
        found = weighed(folder, tables, seed=seed, today=today, quiet=quiet)
    except BadInput as error:
        raise BadInput(
            [Problem(f"{folder.name}/{p.where}" if p.where else folder.name, p.text) for p in error.problems]
        ) from None
    report = reports / f"{folder.name}.pdf"
    with working(f"Writing the report on {folder.name}", quiet=quiet):
        try:
            reports.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise BadInput([Problem("--home", f"{reports} cannot be used: {error.strerror}; give another folder")]) from None
        put(report, weighing_pdf(sheet(found, tables, worst=12)))
    return Shown(folder, report, found)


def _table(printer: Printer, shown: Sequence[Shown]) -> None:
    """All of them, a line or two each."""
    rows = [("", "ceiling", "price", "best asks")]
    for one in shown:
        prices, best = price_range(one.weighing), one.weighing.ranking.best
        price = "" if prices is None else money(prices[0]) if prices[0] == prices[1] else span(*prices)
        ceiling = "nothing pays" if one.weighing.ceiling.because == "nothing pays" else top_price(one.weighing.ceiling.amount)
        worth = f"{len(best.asks)} worth {money(best.worth[-1])}" if best.asks else "none pays"
        rows.append((f"{one.weighing.dossier.vehicle.name} ({one.weighing.plan.body})", ceiling, price, worth))
    printer.line(("The demo dossiers", "bold"))
    printer.table(rows, right=(1, 2, 3))
