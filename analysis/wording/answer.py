"""What every answer can do: print itself, show itself in a notebook, turn into JSON and a table.

An answer is data and does not know who writes it. The renderers say what they write (`Writer`); an
answer finds its own by its kind. That keeps the arrow from renderer to result, and none back.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

if TYPE_CHECKING:
    import pandas as pd

_FRAME_HEIGHT = 720  # of the page shown in a notebook [px]


@dataclass(frozen=True, slots=True)
class Writer:
    """How answers of one kind are written; each function takes the answer.

    Attributes
    ----------
    text : callable
        Plain text.
    page : callable or None
        One self-contained HTML page.
    cells : callable or None
        Comma-separated values.
    """

    text: Callable[[Any], str]
    page: Callable[[Any], str] | None = None
    cells: Callable[[Any], str] | None = None


_WRITERS: dict[str, Writer] = {}


def written_by(kind: str, writer: Writer) -> None:
    """Say how answers of a kind are written."""
    _WRITERS[kind] = writer


class NotWritten(ValueError):
    """An answer has no form of the kind that was asked for."""


class Answer:
    """Base of all answers. `kind` names what it answers: analysis, check, plan, audit, noise or logs."""

    __slots__ = ()
    kind: ClassVar[str]

    def to_dict(self) -> dict[str, Any]:
        """The answer as JSON carries it."""
        raise NotImplementedError

    @property
    def table(self) -> pd.DataFrame:
        """Its rows as a DataFrame."""
        raise NotImplementedError

    @property
    def summary(self) -> str:
        """The answer in a line."""
        raise NotImplementedError

    def to_json(self) -> str:
        """The same as JSON text; the same answer gives the same bytes."""
        from slackwater.analysis.wording.json_text import to_json

        return to_json(self.to_dict())

    def to_html(self) -> str:
        """One self-contained HTML page.

        Raises
        ------
        NotWritten
            Where an answer of this kind is never a page.
        """
        return self._form("page", _WRITERS[self.kind].page)

    def to_csv(self) -> str:
        """Comma-separated values for a spreadsheet; no cell becomes a formula.

        Raises
        ------
        NotWritten
            Where an answer of this kind is never one table.
        """
        return self._form("table", _WRITERS[self.kind].cells)

    def _form(self, name: str, write: Callable[[Any], str] | None) -> str:
        if write is None:
            raise NotWritten(f"{self.kind} is not written as a {name}; take the text or the JSON")
        return write(self)

    def __str__(self) -> str:
        return _WRITERS[self.kind].text(self)

    def __repr__(self) -> str:
        return f"<slackwater {self.kind}: {self.summary}>"

    def _repr_html_(self) -> str:
        """The page in a frame of its own, so that its style stays inside; else the text."""
        import html

        if _WRITERS[self.kind].page is None:
            return f"<pre>{html.escape(str(self))}</pre>"
        page = html.escape(self.to_html(), quote=True)
        return (
            f'<iframe sandbox title="slackwater {self.kind}" srcdoc="{page}" '
            f'style="width:100%;height:{_FRAME_HEIGHT}px;border:0"></iframe>'
        )
