"""The group of commands, and the one place where what goes wrong in any of them is said."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import Any

import typer
from typer.core import TyperGroup

from weldworth.cli.errors import FAULT_CODE, USAGE, USAGE_CODE, as_json, exit_code, kind_of, problems_of
from weldworth.core.errors import Problem

JSON = "--json"
NAME = "weldworth"


class Group(TyperGroup):
    """Commands whose errors end in one line each and an exit code, or in JSON where --json is given."""

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        windows_expand_args: bool = True,
        **extra: Any,
    ) -> Any:
        """Run a command and leave with its exit code; errors are said here, whatever `standalone_mode` is."""
        given = list(sys.argv[1:] if args is None else args)
        try:
            code = super().main(given, NAME, complete_var, False, windows_expand_args, **extra)
            sys.stdout.flush()
        except BrokenPipeError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            sys.exit(FAULT_CODE)
        except typer.Abort:
            sys.exit(FAULT_CODE)
        except Exception as error:
            sys.exit(_told(error, given))
        sys.exit(code if isinstance(code, int) else 0)


def _told(error: Exception, given: Sequence[str]) -> int:
    """Say what went wrong with the words given; returns the exit code."""
    if hasattr(error, "format_message"):
        kind, code, problems = USAGE, USAGE_CODE, _usage(error, given)
    else:
        kind, code, problems = kind_of(error), exit_code(error), problems_of(error)
    from weldworth.cli.output import console, say
    from weldworth.report.text import plain

    if JSON in given:
        say(as_json(kind, problems))
    else:
        shown = console(stderr=True)
        for problem in problems:
            shown.print(plain(str(problem)), soft_wrap=True)
    return code


def _usage(error: Any, given: Sequence[str]) -> tuple[Problem, ...]:
    """A wrong option or argument with the value it was given, and the help that would tell."""
    context = getattr(error, "ctx", None)
    command = context.command_path if context is not None else NAME
    told = " ".join(error.format_message().split()).rstrip(".")
    for option in getattr(getattr(error, "param", None), "opts", ()):
        if option in given[:-1]:
            told = f"{told}, but {option} is {given[given.index(option) + 1]!r}"
    return (Problem(command, f"{told}; see {command} --help"),)
