"""Work that is written in a file which is no part of the package, such as a simulation's."""

from __future__ import annotations

import pickle
import sys
from dataclasses import dataclass
from importlib import import_module
from typing import Any


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A function of a module in a folder, which workers have under the same path.

    Its jobs travel as bytes (`packed`): a scheduler reads what it hands on, and has no such folder.

    Attributes
    ----------
    folder : str
        Absolute.
    module, function : str
        Names.
    """

    folder: str
    module: str
    function: str

    @staticmethod
    def packed(job: Any) -> bytes:
        """A job as it is given out."""
        return pickle.dumps(job)

    def __call__(self, job: bytes) -> Any:
        if self.folder not in sys.path:
            sys.path.insert(0, self.folder)
        return getattr(import_module(self.module), self.function)(pickle.loads(job))
