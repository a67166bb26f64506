"""The commands of weldworth. What is heavy is imported inside the command that needs it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from weldworth.cli.app import NAME, Group

app = typer.Typer(
    name=NAME,
    cls=Group,
    help="What the metal of a classic vehicle probably is, what repair will cost, and the highest price that still pays.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
)

Dossier = Annotated[Path, typer.Argument(metavar="DOSSIER", help="Folder that holds candidate.toml.", show_default=False)]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON for other programs.")]
Seed = Annotated[
    int, typer.Option(min=0, max=2**32 - 1, metavar="N", help="Seed of the draws; the same seed gives the same figures.")
]
Today = Annotated[str | None, typer.Option("--today", hidden=True, metavar="YYYY-MM-DD", help="Weigh as on this day.")]


@app.callback(invoke_without_command=True)
def start(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Print the version and leave.", is_eager=True)] = False,
) -> None:
    if version:
        from weldworth import __version__

        typer.echo(f"{NAME} {__version__}")
        raise typer.Exit()
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


@app.command()
def weigh(
    dossier: Dossier,
    as_json: AsJson = False,
    report: Annotated[
        Path | None, typer.Option(metavar="FILE.pdf", help="Write the report to this file.", show_default=False)
    ] = None,
    seed: Seed = 0,
    zone: Annotated[
        str | None,
        typer.Option(metavar="ZONE", help="Only explain one zone: before, after, and what moved it.", show_default=False),
    ] = None,
    today: Today = None,
) -> None:
    """Weigh one candidate: its metal, bill, ceiling and asks.

    What each zone probably is, what repair will cost with its spread, the highest price that still pays, and what to ask
    for next.
    """
    from weldworth.cli.weigh import weigh_dossier

    weigh_dossier(dossier, as_json=as_json, report=report, seed=seed, zone=zone, today=today)


@app.command()
def asks(
    dossier: Dossier,
    count: Annotated[int, typer.Option(min=1, max=12, metavar="K", help="At most so many are chosen to be sent together.")] = 5,
    as_json: AsJson = False,
    seed: Seed = 0,
    today: Today = None,
) -> None:
    """What to ask the seller for next, and the message to send."""
    from weldworth.cli.weigh import ask_about

    ask_about(dossier, count=count, as_json=as_json, seed=seed, today=today)


@app.command()
def number(
    text: Annotated[str, typer.Argument(metavar="TEXT", help="The vehicle's number as read.", show_default=False)],
    model_year: Annotated[
        int | None, typer.Option(min=1900, max=2100, metavar="YEAR", help="Model year as in the papers.", show_default=False)
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Check a vehicle's number by the published rules.

    Says too what a pass does and does not mean.
    """
    from weldworth.cli.number import tell_number

    tell_number(text, model_year=model_year, as_json=as_json)


@app.command()
def demo(
    home: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR", help="The shop's folder; else WELDWORTH_HOME, else weldworth in your own.", show_default=False
        ),
    ] = None,
    serve: Annotated[bool, typer.Option("--serve/--no-serve", help="Nothing is served yet: both do the same.")] = False,
    as_json: AsJson = False,
    seed: Seed = 0,
    today: Today = None,
) -> None:
    """Weigh the demo dossiers and write their reports.

    They are invented vehicles on several bodies, copied to where you can change them; what you changed is kept.
    """
    from weldworth.cli.demo import show_demo

    show_demo(home, as_json=as_json, seed=seed, today=today)


@app.command()
def doctor(as_json: AsJson = False) -> None:
    """Say whether everything that weldworth needs is there.

    Leaves with exit code 1 where something is missing.
    """
    from weldworth.cli.doctor import examine

    examine(as_json=as_json)
