"""The rules of a folder, found from its files: a new file is a new rule, with no list to keep in step."""

from __future__ import annotations

import pkgutil
from functools import lru_cache
from importlib import import_module

from slackwater.protocol.rules._rule import Rule


@lru_cache(maxsize=8)
def rules_in(package: str) -> tuple[Rule, ...]:
    """Every rule of a package, in the order of their ids.

    Parameters
    ----------
    package : str
        Its modules hold one rule each (`RULE`) or a table of rules that differ in few words
        (`RULES`); modules whose names begin with an underscore are no rules.

    Raises
    ------
    LookupError
        For a module that holds neither.
    """
    found: list[Rule] = []
    for module in pkgutil.iter_modules(import_module(package).__path__):
        if module.name.startswith("_"):
            continue
        loaded = import_module(f"{package}.{module.name}")
        if hasattr(loaded, "RULE"):
            found.append(loaded.RULE)
        elif hasattr(loaded, "RULES"):
            found.extend(loaded.RULES)
        else:
            raise LookupError(f"{package}.{module.name} holds no RULE and no RULES")
    return tuple(sorted(found, key=lambda rule: rule.id))
