"""Every example in a docstring is run."""

from __future__ import annotations

import doctest
import importlib
import pkgutil
from types import ModuleType

import pytest

import slackwater.analysis
import slackwater.protocol


def modules() -> list[str]:
    found = []
    for package in (slackwater.protocol, slackwater.analysis):
        walked = pkgutil.walk_packages(package.__path__, f"{package.__name__}.")
        found += [package.__name__, *(module.name for module in walked)]
    return [name for name in found if not name.endswith("__main__")]


def examples(module: ModuleType) -> list[doctest.DocTest]:
    return [test for test in doctest.DocTestFinder().find(module) if test.examples]


@pytest.mark.parametrize("name", modules())
def test_examples_hold(name: str) -> None:
    failed, _ = doctest.testmod(importlib.import_module(name), optionflags=doctest.ELLIPSIS)
    assert failed == 0


def test_there_are_examples() -> None:
    with_examples = [n for n in modules() if examples(importlib.import_module(n))]
    assert "slackwater.analysis.reduction.current" in with_examples
    assert "slackwater.analysis.statistics.multiplicity" in with_examples
