"""A desk in a process of its own that can be killed, and pictures for phones to send."""

from __future__ import annotations

import io
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from weldworth.bootstrap import open_desk
from weldworth.workbench.desk import Desk

ASKS = ("picture:pu.frame.horn.l", "question:salted-winters", "picture:pu.door.low.l")
SOURCE = Path(__file__).resolve().parents[2] / "src"


@cache
def photo(seed: int, size: tuple[int, int] = (1000, 750)) -> bytes:
    """A bright, sharp picture of several hundred kilobytes."""
    noise = np.random.default_rng(seed).integers(90, 240, (size[1], size[0], 3), dtype=np.uint8)
    out = io.BytesIO()
    Image.fromarray(noise).save(out, "JPEG", quality=80)
    return out.getvalue()


def dark_photo() -> bytes:
    """A picture taken with the lamp off."""
    out = io.BytesIO()
    Image.fromarray(np.random.default_rng(1).integers(0, 9, (480, 640, 3), dtype=np.uint8)).save(out, "JPEG")
    return out.getvalue()


def file(data: bytes, name: str = "photo.jpg") -> dict[str, Any]:
    return {"name": name, "mimeType": "image/jpeg", "buffer": data}


@dataclass
class OwnDesk:
    """`weldworth serve` on a folder of its own; can be killed and started again on the same port."""

    home: Path
    port: int = field(default_factory=lambda: free_port())
    process: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def desk(self) -> Desk:
        return open_desk(self.home)

    def start(self) -> None:
        command = [sys.executable, "-m", "weldworth", "serve", "--home", str(self.home), "--port", str(self.port)]
        environment = {**os.environ, "PYTHONPATH": str(SOURCE)}
        self.process = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        for _ in range(300):
            try:
                urllib.request.urlopen(self.address + "/sw.js", timeout=2).read()
                return
            except OSError:
                time.sleep(0.1)
        raise RuntimeError("the desk does not answer")

    def kill(self) -> None:
        """As a power cut would: no time to tidy up."""
        if self.process is not None:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()
            self.process = None

    def link(self, asks: tuple[str, ...] = ASKS) -> tuple[str, str]:
        """A candidate with a page, and the page's path."""
        desk = self.desk()
        owner = desk.people.owner("R. Quillan")
        candidate = desk.open_candidate("Ostrel Forager", "pickup", owner.id)
        _, secret = desk.links.make(candidate, asks, owner.id, label="Mr Dell", vehicle="1964 pickup")
        desk.store.close()
        return candidate, f"/s/{secret}"

    def arrived(self, candidate: str) -> list[str]:
        """SHA-256 of each picture that was recorded, in order."""
        desk = self.desk()
        try:
            return [str(entry.body["sha256"]) for entry in desk.candidate(candidate).standing if entry.kind == "picture"]
        finally:
            desk.store.close()


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as listening:
        return int(listening.getsockname()[1])
