"""serve: what the terminal says, and that the desk answers where it says."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

Run = Callable[..., Any]


@contextmanager
def started(home: Path, *words: str) -> Iterator[subprocess.Popen[str]]:
    command = [sys.executable, "-m", "weldworth", "serve", "--home", str(home), "--port", "0", *words]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    try:
        yield process
    finally:
        process.terminate()
        process.wait(10)


def test_the_desk_answers_where_the_terminal_says_and_needs_nothing_set_up(tmp_path: Path) -> None:
    with started(tmp_path / "shop") as process:
        assert process.stdout is not None
        address = re.search(r"http://127\.0\.0\.1:\d+/", process.stdout.readline())
        assert address is not None
        with urllib.request.urlopen(address[0], timeout=10) as answer:
            assert "The bench is empty" in answer.read().decode()
    assert (tmp_path / "shop" / "weldworth.sqlite").is_file()


def test_on_another_address_the_terminal_shows_a_set_up_code(tmp_path: Path) -> None:
    with started(tmp_path / "shop", "--host", "0.0.0.0") as process:
        assert process.stdout is not None
        lines = [process.stdout.readline() for _ in range(3)]
        assert "set-up code" in lines[1]
        port = re.search(r":(\d+)/", lines[0])
        assert port is not None
        with urllib.request.urlopen(f"http://127.0.0.1:{port[1]}/", timeout=10) as answer:
            text = answer.read().decode()
        assert "The bench" not in text
        assert "Come in" in text


def test_a_port_that_is_taken_is_named(run: Run, tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        result = run("serve", "--home", tmp_path, "--port", port)
    assert result.exit_code == 2
    assert str(port) in result.stderr
    assert "cannot be had" in result.stderr


def test_a_host_that_is_no_address_of_this_machine_is_named(run: Run, tmp_path: Path) -> None:
    result = run("serve", "--home", tmp_path, "--host", "no.such.host.invalid")
    assert result.exit_code == 2
    assert "no.such.host.invalid" in result.stderr
