"""One column of a table of the result, as it is described, checked and put into the JSON Schema."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["text", "number", "integer", "flag"]


@dataclass(frozen=True, slots=True)
class Field:
    """One column of a table of the result.

    Parameters
    ----------
    name : str
        Column in the DataFrame and key in the JSON.
    kind : "text", "number", "integer" or "flag"
    about : str
        What it is, with its unit in square brackets.
    required : bool
        Whether the column has to be there. Any value may be null: that is what cannot be computed.
    choices : tuple of str
        The only values, where they are few.
    """

    name: str
    kind: Kind
    about: str
    required: bool = True
    choices: tuple[str, ...] = ()
