"""A sheet as lines for a terminal or a pipe: readable at 80 columns, without colour where there is none."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from weldworth.belief.believe import Reason
from weldworth.report.numbers import hundred, move
from weldworth.report.sheet import AskSheet, Axis, Item, Sheet, WorkRow, ZoneRow
from weldworth.report.strokes import (
    Strokes,
    condition_bar,
    condition_key,
    dimension_line,
    mark_line,
    strokes_for,
    tick_lines,
)
from weldworth.vehicle.conditions import CONDITIONS

ACCENT, HEAD, QUIET = "bold magenta", "bold", "dim"
LABEL = 13
WIDEST = 96
AXIS = 44
BAR = 20
MOST_WORK = 12
WORK = (0, 15, 16, 7)
MOST_ASKS = 8


def plain(text: str) -> str:
    """The text without characters that steer a terminal."""
    return "".join(char if char.isprintable() or char == "\n" else "?" for char in text)


def text_of(text: str, style: str = "") -> Text:
    """The text as it stands: nothing in it is read as markup."""
    return Text(plain(text), style=style)


class Printer:
    """Prints the parts of a sheet on a console, one after the other."""

    def __init__(self, console: Console, strokes: Strokes | None = None) -> None:
        self.console = console
        self.strokes = strokes or strokes_for(console.encoding)

    def line(self, *parts: tuple[str, str] | str, indent: int = 0) -> None:
        """One line, wrapped where it is too long; each part is a text or a text with its style."""
        text = Text()
        for part in parts:
            text.append(plain(part) if isinstance(part, str) else plain(part[0]), style="" if isinstance(part, str) else part[1])
        self.console.print(Padding(text, (0, 0, 0, indent), expand=False))

    def head(self, title: str, note: str = "") -> None:
        """The heading of a section."""
        self.console.print()
        self.line((title, HEAD))
        self.console.print(text_of(self.strokes.line * min(self.console.width, 80), QUIET))
        if note:
            self.line((note, QUIET))

    def table(
        self, rows: Iterable[Sequence[str]], right: Sequence[int] = (), widths: Sequence[int] = (), indent: int = 2
    ) -> None:
        """Rows in columns; columns of `right` are aligned right and never wrapped. widths : in characters, 0 for what is left."""
        grid = Table.grid(padding=(0, 2, 0, 0), pad_edge=False)
        listed = [[text_of(cell) for cell in row] for row in rows]
        spare = min(self.console.width, WIDEST) - indent - sum(widths) - 2 * (len(widths) - 1)
        for column in range(max((len(row) for row in listed), default=0)):
            width = (widths[column] or spare) if widths else None
            grid.add_column(justify="right" if column in right else "left", no_wrap=column in right, width=width)
        for row in listed:
            grid.add_row(*row)
        if listed:
            self.console.print(Padding(grid, (0, 0, 0, indent), expand=False))

    def items(self, items: Iterable[Item], indent: int = 2) -> None:
        """Items as label, figure and note."""
        self.table([(item.label, item.value, item.note) for item in items], right=(1,), indent=indent)


def print_sheet(sheet: Sheet, console: Console, strokes: Strokes | None = None) -> None:
    """The whole report."""
    printer = Printer(console, strokes)
    _identity(printer, sheet)
    _decision(printer, sheet)
    _money(printer, sheet.axis)
    _bill(printer, sheet)
    _metal(printer, sheet)
    print_asks(sheet.asks, printer)
    _close(printer, sheet)


def _identity(printer: Printer, sheet: Sheet) -> None:
    printer.line((sheet.title, HEAD))
    printer.line(sheet.subtitle)
    printer.line(sheet.sale)
    for item in sheet.identity:
        if item.label == "Number":
            printer.line("Number ", item.value, f": {item.note}" if item.note else "")
    for words in sheet.number_words:
        printer.line((words, QUIET), indent=2)


def _decision(printer: Printer, sheet: Sheet) -> None:
    found = sheet.decision
    printer.head("The ceiling")
    ceiling = f"{found.ceiling} {found.currency}" if sheet.axis.ceiling is not None else "Nothing pays"
    printer.line((ceiling, ACCENT), "   ", found.advice)
    printer.line(found.because)
    printer.line(f"{found.at}: expected profit ", (found.profit, HEAD), "; loss ", (found.loss, HEAD), f" ({found.loss_note})")
    printer.items(found.at_price)
    printer.console.print()
    printer.line(("What binds", HEAD))
    printer.items(found.binds)
    printer.line(("How it adds up, averages", HEAD))
    printer.items(found.adds_up)


def _money(printer: Printer, axis: Axis) -> None:
    printer.head("Money, 8 times in 10 between the slant ends")
    strokes, top = printer.strokes, axis.ticks[-1]
    for spread in axis.spreads:
        drawn = dimension_line(spread.low, spread.middle, spread.high, top, strokes, AXIS)
        printer.line(f"{spread.label:<{LABEL}}", drawn, " ", spread.text)
        printer.line((f"{'':<{LABEL}}{spread.note}", QUIET))
    marks = []
    if axis.price is not None:
        marks.append((axis.price, strokes.price))
    if axis.price_high is not None:
        marks.append((axis.price_high, strokes.price))
    if axis.ceiling is not None:
        marks.append((axis.ceiling, strokes.ceiling))
    if marks:
        key = [f"{strokes.ceiling} ceiling"] if axis.ceiling is not None else []
        key += [f"{strokes.price} {axis.price_text}"] if axis.price is not None else []
        printer.line(f"{'':<{LABEL}}", (mark_line(marks, top, AXIS), ACCENT))
    line, labels = tick_lines(axis, strokes, AXIS)
    printer.line(f"{'':<{LABEL}}{line}")
    printer.line(f"{'':<{LABEL}}{labels}")
    if marks:
        printer.line((f"{'':<{LABEL}}{',  '.join(key)}", ACCENT))


def _bill(printer: Printer, sheet: Sheet) -> None:
    bill = sheet.bill
    printer.head(
        "The bill: what probably needs doing", f"{bill.headline}. Lines: cost if needed, 8 times in 10; then what it counts for."
    )
    _work(printer, bill.work)
    printer.line(("Charged once for the job", HEAD))
    _work(printer, bill.once)
    _work(printer, (bill.total,))
    for note in bill.notes:
        printer.line((note, QUIET))
    for offer in bill.offers:
        printer.line(f"{offer.label}: {offer.value}; {offer.note}", indent=2)
    printer.line(("What makes the bill unsure, share of the spread", HEAD))
    printer.items(bill.drivers[:6])


def _work(printer: Printer, rows: Sequence[WorkRow]) -> None:
    shown = rows if len(rows) <= MOST_WORK else (*rows[: MOST_WORK - 1], rows[-1])
    printer.table([(row.name, row.chance_text, row.cost, row.counts) for row in shown], right=(1, 2, 3), widths=WORK)


def _metal(printer: Printer, sheet: Sheet) -> None:
    printer.head("The metal", f"Each bar and line is out of 100.   {condition_key(printer.strokes)}")
    counts = ", ".join(f"{station.name.lower()} {station.seen.replace(' zones seen', '')}" for station in sheet.stations)
    printer.line("Zones seen: ", counts, ".")
    printer.line("The vehicle was: ", "; ".join(f"{item.label.lower()} {item.value}" for item in sheet.repair), ".")
    printer.line(("Worst", HEAD))
    _zones(printer, sheet.worst)
    if sheet.unknown:
        printer.line(("Least known of what nobody has seen", HEAD))
        _zones(printer, sheet.unknown)
    first = [item.label for item in sheet.evidence.unseen if item.note]
    if first:
        printer.line(("Usually first to rust, and not seen: ", HEAD), "; ".join(first), ".")


def _zones(printer: Printer, rows: Sequence[ZoneRow]) -> None:
    widths = [max(len(name), 3) for name in CONDITIONS]
    header = " ".join(f"{name:>{width}}" for name, width in zip(CONDITIONS, widths, strict=True))
    printer.line((f"{'':<{BAR + 2}}{header}", QUIET), indent=2)
    for row in rows:
        about = ", ".join(part for part in (row.station, row.structural, row.seen_words) if part)
        printer.line((row.label, ""), (f"  ({about})", QUIET), indent=2)
        figures = " ".join(f"{figure:>{width}}" for figure, width in zip(row.figures, widths, strict=True))
        printer.line(f"{condition_bar(row.chances, printer.strokes, BAR)}  {figures}", indent=2)


def print_asks(asks: AskSheet, printer: Printer, *, most: int = MOST_ASKS, send: bool = False) -> None:
    """The asks by worth, the best few together, and with `send` the message."""
    printer.head("What to ask for", f"{asks.summary} Worth is before what asking costs.")
    rows = [(f"{row.kind}: {row.about}", row.worth_text, row.cost_text, row.decides) for row in asks.ranked[:most]]
    if rows:
        printer.table([("", "worth", "costs", ""), *rows], right=(1, 2))
        hidden = len(asks.ranked) - most
        printer.line((f"{hidden} more stand in the report; " if hidden > 0 else "", QUIET), (asks.left_out, QUIET))
    if asks.best:
        printer.line((f"The best {len(asks.best)} together: ", HEAD), asks.joint_words)
        pairs = zip(asks.best, asks.joint, strict=True)
        printer.table([(f"{n}. {row.about}", f"{worth} so far") for n, (row, worth) in enumerate(pairs, start=1)], right=(1,))
        for caution in dict.fromkeys(row.caution for row in asks.best if row.caution):
            printer.line((caution, HEAD), indent=2)
    if send and asks.message:
        printer.head("To send")
        printer.line(asks.message)


def _close(printer: Printer, sheet: Sheet) -> None:
    if sheet.remarks:
        printer.head("Remarks")
        for item in sheet.remarks:
            printer.line((f"{item.label}: ", QUIET), item.note, indent=2)
    printer.head("Cautions")
    for caution in sheet.cautions:
        printer.line(caution, indent=2)
    printer.console.print()
    for item in sheet.block[:2]:
        printer.line((f"{item.label}: ", QUIET), item.value)


def print_zone(before: ZoneRow, after: ZoneRow, reasons: Sequence[Reason], printer: Printer) -> None:
    """One zone before and after the evidence, and what moved it."""
    about = ", ".join(part for part in (after.station, after.structural, after.seen_words) if part)
    printer.line((after.label, HEAD), f"  ({about})")
    printer.line((f"Each bar and line is out of 100.   {condition_key(printer.strokes)}", QUIET))
    for name, row in (("Any vehicle of this kind and life", before), ("With everything recorded", after)):
        printer.line((name, HEAD), f": pitted, holed or masked {row.bad_text}")
        _figures(printer, row)
    printer.head("What moved it", "Each record taken away in turn; the moves overlap and need not add up.")
    if not reasons:
        printer.line("Nothing recorded moves this zone.", indent=2)
    rows = [
        (f"{reason.text} ({reason.where.removeprefix('candidate.toml: ')})", f"{reason.moved:+.2f}", move(reason.moved))
        for reason in reasons
    ]
    printer.table([("", "log-odds", ""), *rows] if rows else [], right=(1,))


def _figures(printer: Printer, row: ZoneRow) -> None:
    words = ", ".join(f"{name} {hundred(chance)}" for name, chance in zip(CONDITIONS, row.chances, strict=True))
    printer.line(condition_bar(row.chances, printer.strokes, 40), indent=2)
    printer.line(words, indent=2)
