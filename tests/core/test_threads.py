"""What the programs take of the machine."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

TASKS = Path("/proc/self/task")
COUNT = "import numpy, os; print(len(os.listdir('/proc/self/task')))"


@pytest.mark.skipif(not TASKS.is_dir(), reason="threads are counted in /proc")
def test_the_command_line_leaves_linear_algebra_one_thread_unless_told_otherwise() -> None:
    bare = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}

    def threads(first: str, **more: str) -> int:
        ran = subprocess.run(
            [sys.executable, "-c", first + COUNT], env={**bare, **more}, capture_output=True, text=True, check=True
        )
        return int(ran.stdout)

    assert threads("import weldworth.cli.main; ") == 1
    if threads("") > 1:
        assert threads("import weldworth.cli.main; ", OPENBLAS_NUM_THREADS="2") == 2
