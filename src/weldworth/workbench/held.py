"""A few results held by what they rest on; the one not asked for longest goes first."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

Found = TypeVar("Found")


class Held(Generic[Found]):
    """At most so many results. Whoever asks for one that is being worked out waits for it."""

    def __init__(self, most: int) -> None:
        self._most, self._lock = most, threading.Lock()
        self._found: OrderedDict[Hashable, Found] = OrderedDict()
        self._busy: dict[Hashable, threading.Lock] = {}

    def peek(self, key: Hashable) -> Found | None:
        """What is held under `key`, or None."""
        with self._lock:
            return self._found.get(key)

    def at_hand(self) -> tuple[Hashable, ...]:
        """What is held, by its keys."""
        with self._lock:
            return tuple(self._found)

    def put(self, key: Hashable, found: Found) -> None:
        """Hold what was worked out elsewhere."""
        with self._lock:
            self._found[key] = found
            while len(self._found) > self._most:
                self._found.popitem(last=False)

    def get(self, key: Hashable, work: Callable[[], Found]) -> Found:
        """What is held under `key`, worked out first where it is not there. What `work` raises is not held."""
        with self._lock:
            turn = self._busy.setdefault(key, threading.Lock())
        with turn:
            with self._lock:
                if key in self._found:
                    self._found.move_to_end(key)
                    self._busy.pop(key, None)
                    return self._found[key]
            try:
                found = work()
                self.put(key, found)
                return found
            finally:
                with self._lock:
                    self._busy.pop(key, None)
