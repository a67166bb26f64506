"""How many threads numpy's linear algebra takes."""

from __future__ import annotations

import os


def one_thread() -> None:
    """Let linear algebra keep to one thread, unless the environment says otherwise. Before numpy is imported.

    The matrices here are small: a thread on every core waits for work in a busy loop, which takes twice the processor time of a
    weighing and leaves none for the others who are served.
    """
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
