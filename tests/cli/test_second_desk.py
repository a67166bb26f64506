"""The long work of quiet moments in a process of its own, held against the desk's own work; the process is the real one."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from weldworth.bootstrap import open_desk
from weldworth.second_desk import SecondDesk
from weldworth.workbench.desk import Desk
from weldworth.workbench.weigher import BEST

DEMO = Path(__file__).resolve().parents[2] / "src/weldworth/demo"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Desk, str, Path]]:
    """A desk with a demo vehicle that nobody has weighed."""
    home = tmp_path_factory.mktemp("shop")
    desk = open_desk(home)
    id = desk.import_dossier(DEMO / "ostrel-forager", desk.people.owner("Ann").id)
    yield desk, id, home
    desk.store.close()


@pytest.fixture(scope="module")
def second(shop: tuple[Desk, str, Path]) -> Iterator[SecondDesk]:
    desk, _, home = shop
    made = SecondDesk(home, desk)
    yield made
    made.close()


def test_what_the_other_process_weighs_is_what_the_desk_would_have(shop: tuple[Desk, str, Path], second: SecondDesk) -> None:
    desk, id, _ = shop
    there, here = second.ahead(id), desk.ahead(id)
    assert there is not None and here is not None
    assert (there.key, there.best, there.joint) == (here.key, here.best, here.joint)
    assert there.weighing.ceiling == here.weighing.ceiling
    np.testing.assert_array_equal(there.weighing.net.draws, here.weighing.net.draws)


def test_after_a_quiet_moment_nothing_of_the_asks_page_is_left_to_work_out(shop: tuple[Desk, str, Path]) -> None:
    _, id, home = shop
    desk = open_desk(home)
    desk.beside = second = SecondDesk(home, desk)
    desk.record(id, "note", {"text": "rings at the nose"}, desk.people.owner().id)
    desk.record(id, "finding", {"zone": "ot.floor.toe.l", "sign": "staining", "source": "own-ground"}, desk.people.owner().id)
    assert desk.refresh() >= 1
    second.close()
    basis, _, tables = desk.basis(id)

    def never() -> object:
        raise AssertionError("it is worked out again")

    best = desk.weigher.best(basis, never, tables, BEST)  # type: ignore[arg-type]
    joint = desk.weigher.together(basis, never, tables, [f"{ask.kind}:{ask.zone}" for ask in best.asks])  # type: ignore[arg-type]
    assert joint.worth > 0
    desk.store.close()


def test_where_the_other_process_dies_the_desk_does_the_work_itself_and_begins_another(
    shop: tuple[Desk, str, Path], second: SecondDesk
) -> None:
    _, id, _ = shop
    second.compare_ahead(1)
    first = second._process
    assert first is not None
    os.kill(first.pid, signal.SIGKILL)
    first.wait()
    assert second.ahead(id) is not None
    second.compare_ahead(1)
    assert second._process is not None and second._process.pid != first.pid


def test_an_error_there_is_an_error_here(second: SecondDesk) -> None:
    with pytest.raises(Exception, match="there is no candidate 'nowhere' here"):
        second.ahead("nowhere")


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc to look for the process")
def test_the_other_process_ends_with_the_desk_however_that_ends(shop: tuple[Desk, str, Path]) -> None:
    home = shop[2]
    code = (
        "import sys, time; from pathlib import Path; from weldworth.second_desk import SecondDesk; "
        f"second = SecondDesk(Path({str(home)!r}), None); second.compare_ahead(1); "
        "print(second._process.pid, flush=True); time.sleep(60)"
    )
    process = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, env=os.environ)
    assert process.stdout is not None
    child = Path("/proc") / process.stdout.readline().decode().strip()
    assert child.exists()
    process.kill()
    process.wait()
    for _ in range(300):
        if not child.exists() or ") Z" in (child / "stat").read_text():
            return
        time.sleep(0.1)
    raise AssertionError("the other process is still there")
