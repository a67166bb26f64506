"""A second desk over the same home folder, in a process of its own and at low priority, for the long work of quiet moments.

The two processes speak in pickles over the child's standard input and output: the name of a method and its arguments there, what
came of it back. The child ends when its input does, so it never outlives the desk.
"""

from __future__ import annotations

import logging
import os
import pickle
import subprocess
import sys
import threading
from contextlib import suppress
from pathlib import Path
from typing import IO, Any, cast

from weldworth.core.remark import Remark
from weldworth.workbench.beside import Beside
from weldworth.workbench.weigher import Ahead

log = logging.getLogger("weldworth")
NICER = 10
"""By how much the second desk stands back behind the first."""


class SecondDesk:
    """The long work of the desk of `home`, done in another process. Begun when first asked; begun anew where it broke off.

    own : does what the other process could not.
    """

    def __init__(self, home: Path, own: Beside) -> None:
        self.home, self.own = home, own
        self._process: subprocess.Popen[bytes] | None = None
        self._turn, self._closed = threading.Lock(), False

    def ahead(self, id: str) -> Ahead | None:
        """See `Beside`."""
        return cast("Ahead | None", self._asked("ahead", id))

    def compare_ahead(self, most: int) -> int:
        """See `Beside`."""
        return cast(int, self._asked("compare_ahead", most))

    def alike_elsewhere(self, id: str) -> list[Remark]:
        """See `Beside`."""
        return cast("list[Remark]", self._asked("alike_elsewhere", id))

    def close(self) -> None:
        """End the other process for good."""
        self._closed = True
        self._end()

    def _end(self) -> None:
        process, self._process = self._process, None
        if process is not None:
            process.kill()
            process.communicate()

    def _asked(self, method: str, *given: object) -> object:
        with self._turn:
            try:
                process = self._begun()
                pickle.dump((method, given), cast("IO[bytes]", process.stdin))
                cast("IO[bytes]", process.stdin).flush()
                good, found = pickle.load(cast("IO[bytes]", process.stdout))
            except (OSError, EOFError, pickle.UnpicklingError):
                if self._closed:
                    raise
                log.warning("the process for quiet moments broke off; it is begun anew")
                self._end()
                return getattr(self.own, method)(*given)
        if good:
            return found
        raise found

    def _begun(self) -> subprocess.Popen[bytes]:
        if self._process is None:
            command = [sys.executable, "-m", "weldworth.second_desk", str(self.home)]
            self._process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        return self._process


def answer(desk: Any, asked: IO[bytes], told: IO[bytes]) -> None:
    """Do what is asked until there is no more of it. desk : a `Beside`."""
    while True:
        try:
            method, given = pickle.load(asked)
        except EOFError:
            return
        try:
            reply = (True, getattr(desk, method)(*given))
        except Exception as error:  # whatever it is, it is told where it was asked for
            reply = (False, error)
        pickle.dump(reply, told, pickle.HIGHEST_PROTOCOL)
        told.flush()


def main(home: str) -> None:
    """The other process: over standard input and output, which nothing else may write to."""
    from weldworth.bootstrap import open_desk

    told = sys.stdout.buffer
    sys.stdout = sys.stderr
    if hasattr(os, "nice"):
        os.nice(NICER)
    with suppress(KeyboardInterrupt, BrokenPipeError):
        answer(open_desk(Path(home)), sys.stdin.buffer, told)


if __name__ == "__main__":
    main(sys.argv[1])
