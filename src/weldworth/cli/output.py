"""Where the commands write: standard output and standard error as consoles, and one file put in place whole."""

from __future__ import annotations

import codecs
import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from rich.console import Console
from rich.progress import Progress

from weldworth.core.errors import BadInput, Problem

WIDEST = 96
PIPED = 80
_IN_PLAIN = {
    "\u2212": "-",
    "\u2013": "-",
    "\u2019": "'",
    "\u2018": "'",
    "\u201c": '"',
    "\u201d": '"',
    "×": "x",
    "µ": "u",
    "°": "deg",
}


def _plainer(error: UnicodeError) -> tuple[str, int]:
    """Plain characters for those that an encoding does not have."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(_IN_PLAIN.get(char, "?") for char in error.object[error.start : error.end]), error.end


codecs.register_error("weldworth", _plainer)


def console(*, stderr: bool = False) -> Console:
    """A console on standard output or standard error: no markup, no colour in a pipe, at most WIDEST characters wide."""
    stream = sys.stderr if stderr else sys.stdout
    if hasattr(stream, "reconfigure"):
        stream.reconfigure(errors="weldworth")
    found = Console(file=stream, highlight=False, markup=False, emoji=False)
    width = min(found.width, WIDEST) if found.is_terminal or os.environ.get("COLUMNS") else PIPED
    return Console(file=stream, highlight=False, markup=False, emoji=False, width=width)


def say(text: str) -> None:
    """The text on standard output as it stands, in plain characters where the encoding has no others."""
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(errors="weldworth")
    sys.stdout.write(text + "\n")


@contextmanager
def printed() -> Iterator[Console]:
    """A console whose lines go to standard output at the end, without the blanks that would end them."""
    shown = console()
    with shown.capture() as captured:
        yield shown
    say("\n".join(line.rstrip() for line in captured.get().splitlines()))


@contextmanager
def working(words: str, *, quiet: bool = False) -> Iterator[None]:
    """Say on a terminal's standard error what is being done, for as long as it takes; nothing in a pipe."""
    shown = console(stderr=True)
    if quiet or not shown.is_terminal:
        yield
        return
    with shown.status(words):
        yield


@contextmanager
def counting(words: str, *, quiet: bool = False) -> Iterator[Callable[[int, int], None]]:
    """A bar on a terminal's standard error that grows as it is told (done, in all); nothing in a pipe, or where there is none."""
    shown = console(stderr=True)
    with Progress(console=shown, transient=True, disable=quiet or not shown.is_terminal) as bar:
        task = bar.add_task(words, total=None, visible=False)
        yield lambda done, of: bar.update(task, completed=done, total=of, visible=True)


def report_path(path: Path | None) -> Path | None:
    """The path of a report to write, checked before any work is done; raises BadInput with the remedy."""
    if path is None:
        return None
    folder = path.parent
    if path.suffix.lower() != ".pdf":
        raise BadInput([Problem("--report", f"{path} does not end in .pdf; give a name such as {path.with_suffix('.pdf').name}")])
    if path.is_dir():
        raise BadInput([Problem("--report", f"{path} is a folder; give the name of a file in it, such as {path / 'report.pdf'}")])
    if not folder.is_dir():
        raise BadInput([Problem("--report", f"there is no folder {folder}; make it, or give a path in a folder that exists")])
    if not os.access(folder, os.W_OK):
        raise BadInput([Problem("--report", f"folder {folder} may not be written to; choose another or change its permissions")])
    return path


def put(path: Path, content: bytes) -> None:
    """Write the file beside its place and move it there, so that it is there whole or not at all."""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            Path(name).chmod(0o644)
            Path(name).replace(path)
        except BaseException:
            with suppress(OSError):
                Path(name).unlink()
            raise
    except OSError as error:
        raise BadInput([Problem(str(path), f"cannot be written: {error.strerror}; choose another place")]) from None
