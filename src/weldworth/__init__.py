"""What the metal of a classic vehicle probably is, what repair will cost, and the highest price that still pays.

    import weldworth
    dossier = weldworth.read_dossier("mydossier")
    weighing = weldworth.weigh(dossier)
    weighing.ceiling.amount, weighing.bill.p80, weighing.belief.of("pu.frame.tail")
    weldworth.asks(dossier).best

Needs no screen, no web and no database. Errors that a caller may catch are in `weldworth.core.errors`.
"""

from __future__ import annotations

import importlib
import sys
from types import ModuleType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from weldworth.asks.rank import Ranking
    from weldworth.tables import Tables
    from weldworth.workbench.dossier import Dossier
    from weldworth.workbench.weigh import Weighing

__all__ = ["__version__", "asks", "read_dossier", "weigh"]

__version__ = "0.1.0"


def read_dossier(path: str | Path, *, tables: Tables | None = None, today: date | None = None) -> Dossier:
    """The dossier in the folder `path`.

    tables : the shipped ones where None. today : dates after it are refused; the clock's day where None.
    Raises NotFound when there is no such folder, BadInput with every problem found in it.
    """
    from weldworth.bootstrap import day, shop_tables
    from weldworth.store.folder import read_dossier as read

    return read(path, tables or shop_tables(), today=today or day())


def weigh(dossier: Dossier, *, tables: Tables | None = None, seed: int = 0, today: date | None = None, asks: int = 5) -> Weighing:
    """Belief, bill, ceiling and asks of one candidate; all of its pictures are looked at first.

    seed : of the joint draws; the same dossier, tables, day and seed give the same digits. today : the day on which it is
    weighed; the clock's where None. asks : at most so many are chosen together.
    Raises BadInput with every problem found in the step that cannot go on.
    """
    from weldworth.bootstrap import day, looked_at, shop_tables
    from weldworth.workbench.weigh import weigh as weighed

    tables = tables or shop_tables()
    return weighed(looked_at(dossier, tables), tables, today=today or day(), seed=seed, asks=asks)


def asks(dossier: Dossier, *, tables: Tables | None = None, seed: int = 0, today: date | None = None, count: int = 5) -> Ranking:
    """Everything that could still be asked, best first, and the best `count` together.

    The worth of an ask is what it adds to the decision at the shop's terms, so this weighs the dossier as `weigh` does.
    """
    return weigh(dossier, tables=tables, seed=seed, today=today, asks=count).ranking


def _callable_package(name: str) -> None:
    """Let the package of this name be called as its function here: `weldworth.asks` is both."""

    class Callable(ModuleType):
        __call__ = staticmethod(globals()[name])

    package = importlib.import_module(f"{__name__}.{name}")
    package.__class__ = Callable
    setattr(sys.modules[__name__], name, package)


_callable_package("asks")
