"""The protocols that are shipped, found by id."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files
from pathlib import Path


@lru_cache(maxsize=1)
def shipped() -> dict[str, Path]:
    """The shipped protocols: id (the name of the file) to file."""
    found = {}
    for entry in files("slackwater.protocols").iterdir():
        if entry.name.endswith(".yaml"):
            # Packages are installed as folders here, never as archives, so this is a real path.
            found[entry.name.removesuffix(".yaml")] = Path(str(entry))
    return dict(sorted(found.items()))
