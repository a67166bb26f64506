"""number: what the published rules say about a vehicle's number."""

from __future__ import annotations

from dataclasses import asdict

from weldworth.cli.output import printed, say
from weldworth.report.compose import number_verdict
from weldworth.report.promised import as_text
from weldworth.report.text import Printer
from weldworth.vehicle.number import check_number


def tell_number(text: str, *, model_year: int | None, as_json: bool) -> None:
    """weldworth number."""
    report = check_number(text, model_year=model_year)
    if as_json:
        say(as_text(asdict(report)))
        return
    with printed() as shown:
        printer = Printer(shown)
        printer.line((report.cleaned, "bold"), f"  {number_verdict(report)}")
        for words in report.words:
            printer.line(words, indent=2)
