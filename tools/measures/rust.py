"""Figures of the rust model and of pictures in the weighing: what was reached on held-out sources, time, memory, and what the
machine's word may move."""

from __future__ import annotations

import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from itertools import combinations
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

from measures.figure import Figure
from weldworth.belief.engine import Orders, infer
from weldworth.belief.machine import trusts
from weldworth.picture import rust_mask
from weldworth.picture.alike import print_of
from weldworth.picture.cards import Album, card_of
from weldworth.picture.eye import Eye
from weldworth.picture.folder import PictureFolder
from weldworth.picture.rust import look
from weldworth.store.folders import DossierFolders, TableShelf
from weldworth.store.sqlite import SqliteStore
from weldworth.tables import load_tables
from weldworth.workbench.desk import Desk

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT / "tests" / "picture" / "data"
TRAINED = ROOT / "docs" / "rust-model.md"
STREET, CLOSE = 0.55, 0.88
"""IoU asked for on street-type scenes and on close-ups of bodies."""
BODIES = ("open-tub", "pickup", "coupe", "van", "roadster")
TARGETS = {"street-type": STREET, "phone-rust": STREET, "tower-boxes": STREET, "bodies": CLOSE, "panels": CLOSE}
ON_DESK, ROUNDS = 8, 40  # no more pictures than a desk looks at before it answers
_ROW = re.compile(r"(?m)^\| (\S[^|]*?) \| (\d+) \| (\d\.\d+) (\([^)]*\)) \|")
Pixels = npt.NDArray[np.uint8]


def measure() -> list[Figure]:
    """All figures of rust in pictures."""
    return [*_held_out(), *_times(), _memory(), _against_pyagrum(), *_on_the_desk(), *_cards()]


def _held_out() -> Iterator[Figure]:
    """What training measured on sources that the model never saw, as docs/rust-model.md has it."""
    for source, pictures, iou, interval in _ROW.findall(TRAINED.read_text(encoding="utf-8")):
        target = next((value for name, value in TARGETS.items() if source.startswith(name)), None)
        if target is None:
            continue
        kind = "street-type scenes" if target == STREET else "close-ups of bodies"
        name, _, about = source.partition(": ")
        yield Figure(
            f"rust found, IoU on {name}",
            float(iou),
            "",
            f"at least {target} on {kind}",
            float(iou) >= target,
            f"quoted from docs/rust-model.md, measured in training on pictures held out, 90 % interval {interval}",
            f"{pictures} pictures" + (f", {about}" if about else ""),
        )


def _picture() -> Pixels:
    whole = np.asarray(Image.open(DATA / "intake_panel_a.jpg").convert("RGB"), dtype=np.uint8)
    return np.asarray(cv2.resize(whole, (1024, 768), interpolation=cv2.INTER_CUBIC), dtype=np.uint8)


def _times() -> list[Figure]:
    """Processor time of one picture, one thread. Other work on the same core stretches even that, so the least counts."""
    picture, tables = _picture(), load_tables()
    cv2.setNumThreads(1)
    figures = []
    for name, work in (("rust_mask", lambda: rust_mask(picture)), ("look", lambda: look(picture, tables=tables))):
        work()
        spent = []
        for _ in range(ROUNDS):
            start = time.process_time()
            work()
            spent.append(1000 * (time.process_time() - start))
        value = min(spent)
        how = f"least of {ROUNDS}, processor time, one thread, model loaded; median {statistics.median(spent):.0f} ms"
        figures.append(
            Figure(f"{name} of a picture", round(value), "ms", "at most 150 ms", value <= 150, how, "one 1024 x 768 picture")
        )
    return figures


_ALONE = """
import runpy, sys
sys.argv = ["weldworth", "picture", "rust", sys.argv[1], "--json"]
try:
    runpy.run_module("weldworth", run_name="__main__")
except SystemExit as end:
    assert not end.code, end.code
print(next(line for line in open("/proc/self/status") if line.startswith("VmHWM")).split()[1], file=sys.stderr)
"""


def _memory() -> Figure:
    """Peak memory of the whole command."""
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "picture.jpg"
        Image.fromarray(_picture()).save(path, quality=88)
        run = subprocess.run([sys.executable, "-c", _ALONE, path], capture_output=True, text=True, check=True, timeout=300)
    value = int(run.stderr.split()[-1]) / 1024
    how = "VmHWM of a fresh process"
    return Figure("memory of picture rust", round(value), "MB", "at most 400 MB", value <= 400, how, "one 1024 x 768 picture")


class _Still:
    """A clock that stands."""

    def now(self) -> datetime:
        return datetime(2026, 11, 25, 9, tzinfo=UTC)

    def today(self) -> date:
        return date(2026, 11, 25)


def _on_the_desk() -> list[Figure]:
    """The belief of a candidate with pictures: first, and again after a finding, when nothing is looked at anew."""
    with tempfile.TemporaryDirectory() as place:
        home = Path(place)
        pictures = PictureFolder(home / "pictures")
        shelf, folders, eye = TableShelf(home / "tables"), DossierFolders(), Eye(pictures)
        store = SqliteStore(home / "weldworth.sqlite")
        desk = Desk(store, load_tables(), _Still(), pictures, shelf=shelf, folders=folders, eye=eye)
        by = desk.people.owner().id
        id = desk.open_candidate("Tamarack", "pickup", by, model_year=1968)
        zones = list(desk.metal(id).plan.index)
        files = sorted(DATA.glob("rust_*.jpg"))[:ON_DESK]
        for file, zone in zip(files, zones, strict=False):
            desk.add_picture(id, file.read_bytes(), file.name, by, zones=[zone], source="asked-picture")
        start = time.perf_counter()
        desk.metal(id)
        first = time.perf_counter() - start
        spent = []
        for zone in zones[ON_DESK : ON_DESK + 7]:
            desk.record(id, "finding", {"zone": zone, "sign": "scale", "source": "asked-picture"}, by)
            start = time.perf_counter()
            desk.metal(id)
            spent.append(1000 * (time.perf_counter() - start))
        desk.store.close()
    on = f"pickup with {len(files)} small pictures, each on a zone"
    again = statistics.median(spent)
    how = "median of 7, the belief after one more finding, pictures seen before"
    return [
        Figure("belief with pictures, first", round(first, 2), "s", "none set", True, "each looked at once, two threads", on),
        Figure("belief with pictures, after a finding", round(again), "ms", "at most 300 ms", again <= 300, how, on),
    ]


def _against_pyagrum() -> Figure:
    """The belief with the machine's word on one picture in, against pyAgrum with nodes for what the picture shows and what the
    machine says of it."""
    sys.path.insert(0, str(ROOT / "tests" / "belief"))
    from agrum import Agrum
    from test_machine import confusion, what_shows
    from vehicles import network_of, random_evidence

    tables, orders = load_tables(), Orders(4, 3, 3)
    signs, chance = confusion()
    said = np.array([chance["surface-rust", truth] for truth in ("none", *signs)])
    rng, worst = np.random.default_rng(20261104), 0.0
    for body in BODIES:
        network = network_of(body)
        for suggested in (True, False):
            evidence, z, q = random_evidence(network, rng), int(rng.integers(len(network.zones))), float(rng.uniform(0.3, 0.95))
            other = Agrum(network, orders)
            other.watch(z, what_shows(signs), q * said + (1 - q) * said[0], suggested=suggested)
            own = trusts(tables)["surface-rust"].through(q, absent=not suggested)
            both = {**evidence.zones, z: evidence.zones.get(z, np.ones(6)) * own}
            ours = infer(network, replace(evidence, zones=both), orders).zones
            worst = max(worst, float(np.abs(ours - other.marginals(evidence)).max()))
    how = "largest difference, identical network, with nodes for what the picture shows and for what the machine says"
    on = "five plans, rust found and not found on a picture of one zone, 25 findings besides"
    return Figure("marginals with the machine's word against pyAgrum", worst, "", "at most 1e-6", worst <= 1e-6, how, on)


def _cards() -> list[Figure]:
    """Copies that the cards pick for the closer look, and pairs of different pictures that they pick too."""
    pictures = [np.asarray(Image.open(path).convert("RGB"), dtype=np.uint8) for path in _different()]
    cards = [card_of(print_of(picture)) for picture in pictures]
    album = Album()
    album.add({str(n): card for n, card in enumerate(cards)})
    found = tried = 0
    for number, picture in enumerate(pictures):
        high, wide = picture.shape[:2]
        copies = (picture[:, ::-1], picture[high // 4 :, wide // 8 : -(wide // 8)], picture[: -(high // 4), ::-1][:, wide // 6 :])
        for copy in copies:
            likely = album.worth_a_look(card_of(print_of(np.ascontiguousarray(copy))), [str(number)])
            tried, found = tried + 1, found + bool(likely)
    pairs = list(combinations(range(len(pictures)), 2))
    wrong = sum(bool(album.worth_a_look(cards[a], [str(b)])) for a, b in pairs)
    on = f"{len(pictures)} pictures of the tests, each mirrored, cropped, and both; {len(pairs)} pairs of different ones"
    share, spared = found / tried, 1 - wrong / len(pairs)
    return [
        Figure("copies that the cards pick", round(share, 3), "", "at least 0.95", share >= 0.95, "by keys or prints", on),
        Figure("different pairs that the cards spare", round(spared, 3), "", "at least 0.9", spared >= 0.9, "as above", on),
    ]


def _different() -> list[Path]:
    """Pictures of the tests of which none shows what another does."""
    phone = [path for path in sorted(DATA.glob("rust_phone_*.jpg")) if path.stem != "rust_phone_01"]
    return [*phone, *sorted(DATA.glob("rust_synthetic_*.jpg")), DATA / "intake_panel_a.jpg"]
