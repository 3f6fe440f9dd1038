"""What a report on a terminal is made of: paragraphs, headings and tables, as wide as there is room."""

from __future__ import annotations

import io
import re
import textwrap
from collections.abc import Iterable
from typing import TYPE_CHECKING

from slackwater.analysis.wording.characters import printable
from slackwater.analysis.wording.numbers import NBSP

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

PLAIN_WIDTH = 80
NARROWEST, WIDEST = 40, 120
_NARROW = 60  # below which a table is written as a list
PER_CENT = re.compile(r"(?<=\d) (?=%)")


class Page:
    """A rich console that writes into a string, with the few shapes a report is made of."""

    def __init__(self, width: int, color: bool) -> None:
        from rich.console import Console

        self._buffer = io.StringIO()
        self.width = width
        self.console: Console = Console(
            file=self._buffer,
            width=width,
            color_system="standard" if color else None,
            force_terminal=color,
            markup=False,
            highlight=False,
            emoji=False,
            legacy_windows=False,
        )

    def text(self, text: str, style: str = "", indent: int = 0) -> None:
        """A paragraph, wrapped; figures stay with their units."""
        lines = self.wrapped(text, indent)
        for line in lines or [""]:
            self.console.print(line.replace(NBSP, " "), style=style or None, soft_wrap=True)

    def heading(self, text: str) -> None:
        self.text("")
        self.text(text, style="bold")

    def wrapped(self, text: str, indent: int = 0) -> list[str]:
        """The lines that a paragraph takes; figures stay with their units."""
        lead = " " * indent
        return textwrap.wrap(
            PER_CENT.sub(NBSP, printable(text)),
            self.width,
            initial_indent=lead,
            subsequent_indent=lead + ("  " if text.startswith("- ") else ""),
            break_on_hyphens=False,
        )

    def table(self, grid: Grid) -> None:
        """A table; its columns move together where they would not fit, or it becomes a list."""
        if self.width < _NARROW:
            self._listed(grid)
            return
        table = grid.drawn()
        unbounded = self.console.options.update(max_width=10_000)
        if self.console.measure(table, options=unbounded).maximum > self.width:
            table.padding = (0, 0)
        self.console.print(table)

    def _listed(self, grid: Grid) -> None:
        """Each row as a paragraph, for where a table has no room."""
        names = [
            " ".join(name.split()).replace("worth- while", "worthwhile") for name in grid.names
        ]
        for cells, style in grid.rows:
            told = [
                cell if number == 0 or name in ("verdict", "worthwhile") else f"{name} {cell}"
                for number, (name, cell) in enumerate(zip(names, cells, strict=True))
                if cell
            ]
            self.text(f"- {'; '.join(told)}", style=style)

    def __str__(self) -> str:
        lines = (line.rstrip() for line in self._buffer.getvalue().splitlines())
        return "\n".join(lines) + "\n"


class Grid:
    """A table: its columns with their sides, its rows with their styles."""

    def __init__(self, columns: Iterable[tuple[str, str]], narrow: Iterable[str] = ()) -> None:
        self._columns = list(columns)
        self._narrow = set(narrow)
        self.rows: list[tuple[list[str], str]] = []

    @property
    def names(self) -> list[str]:
        """The headings."""
        return [name for name, _ in self._columns]

    def add(self, cells: Iterable[str], style: str = "") -> None:
        """A row."""
        self.rows.append(([printable(cell.replace(NBSP, " ")) for cell in cells], style))

    def drawn(self) -> Table:
        """The table as rich draws it."""
        from rich import box
        from rich.table import Table
        from rich.text import Text

        made = Table(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0))
        for name, side in self._columns:
            made.add_column(
                name,
                justify="right" if side == "right" else "left",
                no_wrap=name in self._narrow,
                overflow="fold",
            )
        for cells, style in self.rows:
            made.add_row(*[Text(cell, style=style) for cell in cells])
        return made
