"""The commands of weldworth. What is heavy is imported inside the command that needs it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from weldworth.cli.app import NAME, Group
from weldworth.core.threads import one_thread

one_thread()

app = typer.Typer(
    name=NAME,
    cls=Group,
    help="What the metal of a classic vehicle probably is, what repair will cost, and the highest price that still pays.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
)

picture = typer.Typer(help="What pictures show.", rich_markup_mode=None)
app.add_typer(picture, name="picture")

Dossier = Annotated[Path, typer.Argument(metavar="DOSSIER", help="Folder that holds candidate.toml.", show_default=False)]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON for other programs.")]
Seed = Annotated[
    int, typer.Option(min=0, max=2**32 - 1, metavar="N", help="Seed of the draws; the same seed gives the same figures.")
]
Home = Annotated[
    Path | None,
    typer.Option(
        "--home", metavar="DIR", help="The shop's folder; else WELDWORTH_HOME, else weldworth in your own.", show_default=False
    ),
]
Pictures = Annotated[list[Path], typer.Argument(metavar="FILE...", help="Picture files.", show_default=False)]
RegionText = Annotated[
    str | None,
    typer.Option("--region", metavar="L,T,R,B", help="Only this part, in pixels of the upright picture.", show_default=False),
]
Out = Annotated[Path | None, typer.Option("--out", metavar="DIR", help="Write the marked pictures here.", show_default=False)]
Port = Annotated[int, typer.Option(min=0, max=65535, metavar="P", help="Port to serve on; 0 takes a free one.")]
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
    for next. Its pictures are looked at first: what the machine finds on the zones that they show counts until you say what
    you see.
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


@picture.callback(invoke_without_command=True)
def start_picture(context: typer.Context) -> None:
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


@picture.command("check")
def picture_check(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE...", help="Pictures, videos, folders or zips.", show_default=False)
    ],
    as_json: AsJson = False,
) -> None:
    """Whether pictures are good enough to judge metal by, what to do about it, and which repeat another."""
    from weldworth.cli.picture import check_pictures

    check_pictures(files, as_json=as_json)


@picture.command("rust")
def picture_rust(files: Pictures, region: RegionText = None, out: Out = None, as_json: AsJson = False) -> None:
    """How much rust is found, and which signs it may be.

    A suggestion: look yourself. The grades count rust on what the picture shows, or on the region of it.
    """
    from weldworth.cli.picture import region_of, rust_in

    rust_in(files, region=region_of(region), out=out, as_json=as_json)


@picture.command("measure")
def picture_measure(
    files: Pictures,
    kind: Annotated[
        str | None,
        typer.Option("--object", metavar="KIND", help="What lies on the metal: quarter, card, marker-50 ...", show_default=False),
    ] = None,
    near: Annotated[str | None, typer.Option(metavar="X,Y", help="A point on the object.", show_default=False)] = None,
    between: Annotated[
        str | None, typer.Option(metavar="'X,Y X,Y'", help="Two points whose distance is known.", show_default=False)
    ] = None,
    apart: Annotated[float | None, typer.Option(metavar="MM", help="That distance.", show_default=False)] = None,
    length: Annotated[
        str | None, typer.Option(metavar="'X,Y ...'", help="Points along what is measured.", show_default=False)
    ] = None,
    width: Annotated[
        str | None, typer.Option(metavar="'X,Y ...'", help="Points round a hole or a gap: its narrowest.", show_default=False)
    ] = None,
    area: Annotated[
        str | None, typer.Option(metavar="'X,Y ...'", help="Points round what is measured.", show_default=False)
    ] = None,
    rust: Annotated[bool, typer.Option("--rust", help="Measure the area of the rust found.")] = False,
    focal: Annotated[
        float | None, typer.Option(metavar="MM", help="Focal length as 35 mm equivalent, if known.", show_default=False)
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Millimetres, from something of known size on the same flat metal. Points are pixels of the upright picture."""
    from weldworth.cli.picture import Marks, Scale, measure_in, points_of

    tap = points_of(near, "--near")
    marks = Marks(points_of(length, "--length", 2), points_of(width, "--width", 3), points_of(area, "--area", 3), rust)
    scale = Scale(kind, tap[0] if tap else None, points_of(between, "--between", 2), apart, focal)
    measure_in(files, scale=scale, marks=marks, as_json=as_json)


@picture.command("plate")
def picture_plate(files: Pictures, region: RegionText = None, out: Out = None, as_json: AsJson = False) -> None:
    """What numbers a plate may say, each with its probability, and the piece of the picture to compare with."""
    from weldworth.cli.picture import plate_in, region_of

    plate_in(files, region=region_of(region), out=out, as_json=as_json)


@app.command()
def demo(
    home: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR", help="The shop's folder; else WELDWORTH_HOME, else weldworth in your own.", show_default=False
        ),
    ] = None,
    serve: Annotated[bool, typer.Option("--serve/--no-serve", help="Whether to open the desk on them in the browser.")] = True,
    port: Port = 8017,
    as_json: AsJson = False,
    seed: Seed = 0,
    today: Today = None,
) -> None:
    """Weigh the demo dossiers, write their reports, and open the desk on them.

    They are invented vehicles on several bodies, copied to where you can change them; what you changed is kept. They come onto
    the bench of the shop in the same folder; put them away there when you are done with them.
    """
    from weldworth.cli.demo import show_demo

    folders = show_demo(home, as_json=as_json, seed=seed, today=today)
    if serve and not as_json:
        from weldworth.cli.serve import serve_demo

        serve_demo(home, folders, port)


@app.command()
def serve(
    host: Annotated[
        str, typer.Option(metavar="H", help="Address to serve on; on any but this machine's own people have to log in.")
    ] = "127.0.0.1",
    port: Port = 8017,
    home: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR", help="The shop's folder; else WELDWORTH_HOME, else weldworth in your own.", show_default=False
        ),
    ] = None,
    behind_https: Annotated[
        bool, typer.Option("--behind-https", help="A proxy in front speaks https: cookies are sent over it alone.")
    ] = False,
    https: Annotated[
        bool, typer.Option("--https", help="Speak https with an own certificate authority, which phones are let trust once.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Open the desk in the browser.

    On this machine's own address it opens without a login. On any other, people have accounts, and a set-up code for the first
    one is printed.
    """
    from weldworth.cli.serve import serve_desk

    serve_desk(host, port, home, behind_https=behind_https, https=https, as_json=as_json)


@app.command("import")
def import_dossier(dossier: Dossier, home: Home = None, as_json: AsJson = False) -> None:
    """Take a dossier folder into the shop as a new candidate."""
    from weldworth.cli.shelf import import_folder

    import_folder(dossier, where=home, as_json=as_json)


@app.command()
def export(
    candidate: Annotated[
        str, typer.Argument(metavar="CANDIDATE", help="Its id, the beginning of its id, or its name.", show_default=False)
    ],
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="A folder that is not there yet.", show_default=False)],
    home: Home = None,
    as_json: AsJson = False,
) -> None:
    """Write a candidate of the shop as a dossier folder.

    Its pictures come with it, and everything recorded about it as ledger.jsonl.
    """
    from weldworth.cli.shelf import export_folder

    export_folder(candidate, folder, where=home, as_json=as_json)


@app.command()
def verify(home: Home = None, as_json: AsJson = False) -> None:
    """Say whether everything recorded is still as it was recorded.

    Each entry carries a hash of itself and of the one before it. Leaves with exit code 1 where one does not hold.
    """
    from weldworth.cli.shelf import verify_chains

    verify_chains(where=home, as_json=as_json)


@app.command()
def doctor(as_json: AsJson = False) -> None:
    """Say whether everything that weldworth needs is there.

    Leaves with exit code 1 where something is missing.
    """
    from weldworth.cli.doctor import examine

    examine(as_json=as_json)
