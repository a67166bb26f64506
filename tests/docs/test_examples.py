"""The examples in the docstrings are true."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import weldworth

MODULES = sorted(info.name for info in pkgutil.walk_packages(weldworth.__path__, "weldworth.") if not info.ispkg)


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module_give_what_they_show(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0
