"""YAML text to a tree of plain texts with positions, and everything that is wrong with the YAML.

PyYAML parses; the tree is built here from its events, so that no scalar is ever guessed to be a
number, a date or a boolean, and so that depth, aliases and repeated keys are watched on the way.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import yaml

from slackwater.protocol.files.yaml_faults import COLON_FIX, LINE_BREAK, Fault, syntax_fault

MAX_DEPTH = 20  # the file contract nests five deep
MAX_ALIASES = 100
MAX_NODES = 50_000  # after aliases are followed; a trial of 1000 sessions has some 15 000

# libyaml is several times faster and has the same positions; some platforms come without it.
_LOADER: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)

# YAML 1.1, section 5.1: the characters that may stand in a file.
_NOT_TEXT = re.compile(
    "[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
)


@dataclass(slots=True)
class Node:
    """A scalar, list or mapping of the file; line and column count from 1."""

    line: int
    column: int
    kind: str  # scalar, list, mapping
    flow: bool = False  # written in brackets
    text: str = ""
    items: list[Node] = field(default_factory=list)
    entries: dict[str, tuple[Node, Node]] = field(default_factory=dict)
    size: int = 1  # nodes in it, itself included

    def plain(self) -> Any:
        """The node as str, list and dict."""
        if self.kind == "scalar":
            return self.text
        if self.kind == "list":
            return [item.plain() for item in self.items]
        return {name: value.plain() for name, (_, value) in self.entries.items()}


def read_tree(text: str) -> tuple[Node | None, list[Fault]]:
    """Build the tree of a YAML text.

    Returns
    -------
    Node or None
        The topmost mapping, as far as it could be read; None when there is none.
    list of Fault
        Everything wrong with it. A fault of syntax ends the reading; all others do not.
    """
    bad = list(_bad_characters(text))
    if bad:
        return None, bad
    builder = _Builder()
    try:
        for event in yaml.parse(text, Loader=_LOADER):
            if not builder.take(event):
                break
    except yaml.MarkedYAMLError as error:
        return None, [*builder.faults, syntax_fault(error, text)]
    except (yaml.YAMLError, UnicodeError) as error:
        return None, [*builder.faults, Fault("yaml-syntax", f"not YAML: {error}", "", 1, 1)]
    root = builder.root
    if root is None:
        if not builder.faults:
            builder.faults.append(Fault("empty-file", "the file holds no keys", _START, 1, 1))
        return None, builder.faults
    if root.kind != "mapping":
        found = "a list" if root.kind == "list" else "a text"
        message = f"the file holds {found}; keys with values are needed at the top level"
        builder.faults.append(Fault("not-a-mapping", message, COLON_FIX, root.line, root.column))
        return None, builder.faults
    return root, builder.faults


_START = "write keys with values, such as 'title: Speed trial'"


class _Builder:
    """Takes parser events one by one and grows the tree."""

    def __init__(self) -> None:
        self.root: Node | None = None
        self.faults: list[Fault] = []
        self._open: list[
            tuple[Node, Node | None]
        ] = []  # collection, its key that waits for a value
        self._anchors: dict[str, Node] = {}
        self._unfinished: set[str] = set()
        self._names: list[str | None] = []  # the anchors of the open collections
        self._aliases = 0
        self._documents = 0

    def take(self, event: Any) -> bool:
        """Take one event; False when reading has to stop."""
        if isinstance(event, yaml.DocumentStartEvent):
            self._documents += 1
            if self._documents > 1:
                self._fault(
                    event,
                    "several-documents",
                    "a second document starts here; only one is read",
                    "keep one document a file: take out '---' and what follows",
                )
                return False
        elif isinstance(event, yaml.ScalarEvent):
            self._check_tag(event)
            node = self._node(event, "scalar")
            node.text = event.value
            self._remember(event.anchor, node)
            self._add(node, event)
        elif isinstance(event, (yaml.MappingStartEvent, yaml.SequenceStartEvent)):
            self._check_tag(event)
            kind = "mapping" if isinstance(event, yaml.MappingStartEvent) else "list"
            if len(self._open) >= MAX_DEPTH:
                self._fault(
                    event,
                    "yaml-depth",
                    f"nested more than {MAX_DEPTH} levels deep",
                    "nothing in these files nests so deep; look for a bracket left open",
                )
                return False
            node = self._node(event, kind, bool(event.flow_style))
            if event.anchor:
                self._anchors[event.anchor] = node
                self._unfinished.add(event.anchor)
            self._names.append(event.anchor)
            self._open.append((node, None))
        elif isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
            node, _ = self._open.pop()
            self._unfinished.discard(self._names.pop() or "")
            self._add(node, event)
        elif isinstance(event, yaml.AliasEvent):
            return self._follow(event)
        return True

    def _node(self, event: Any, kind: str, flow: bool = False) -> Node:
        return Node(event.start_mark.line + 1, event.start_mark.column + 1, kind, flow)

    def _fault(self, event: Any, rule: str, message: str, fix: str) -> None:
        mark = event.start_mark
        self.faults.append(Fault(rule, message, fix, mark.line + 1, mark.column + 1))

    def _remember(self, anchor: str | None, node: Node) -> None:
        if anchor:
            self._anchors[anchor] = node

    def _check_tag(self, event: Any) -> None:
        if event.tag is not None:
            self._fault(
                event,
                "yaml-tag",
                f"the tag '{_short(event.tag)}' is not read here",
                "take the tag away; values are read as what their key needs",
            )

    def _follow(self, event: Any) -> bool:
        self._aliases += 1
        node = Node(event.start_mark.line + 1, event.start_mark.column + 1, "scalar")
        target = self._anchors.get(event.anchor)
        if self._aliases > MAX_ALIASES:
            self._fault(
                event, "yaml-alias", f"more than {MAX_ALIASES} aliases", "write the values out"
            )
            return False
        if target is None:
            self._fault(
                event,
                "yaml-alias",
                f"nothing above is marked '&{_short(event.anchor)}'",
                "write the value out, or put a text that starts with * in quotes",
            )
        elif event.anchor in self._unfinished:
            self._fault(
                event,
                "yaml-alias",
                f"'*{_short(event.anchor)}' stands inside what it repeats",
                "write the value out",
            )
        else:
            node = target
        return self._add(node, event)

    def _add(self, node: Node, event: Any) -> bool:
        if not self._open:
            self.root = node
            return True
        parent, key = self._open[-1]
        parent.size += node.size
        if parent.size > MAX_NODES:
            self._fault(
                event,
                "too-large",
                f"more than {MAX_NODES} values, aliases followed",
                "split the file",
            )
            return False
        if parent.kind == "list":
            parent.items.append(node)
        elif key is None:
            self._open[-1] = (parent, node)
        else:
            self._open[-1] = (parent, None)
            self._enter(parent, key, node)
        return True

    def _enter(self, parent: Node, key: Node, value: Node) -> None:
        def fault(rule: str, message: str, fix: str) -> None:
            self.faults.append(Fault(rule, message, fix, key.line, key.column))

        if key.kind != "scalar":
            fault("yaml-key", "a key has to be a plain word", COLON_FIX)
        elif key.text == "":
            fault("yaml-key", "a ':' without a key before it", COLON_FIX)
        elif key.text == "<<":
            fault("yaml-merge", "merge keys ('<<') are not read here", "write the values out")
        elif key.text in parent.entries:
            first = parent.entries[key.text][0]
            fault(
                "duplicate-key",
                f"the key '{_short(key.text)}' stands on line {first.line} already",
                "keep one of the two",
            )
        else:
            parent.entries[key.text] = (key, value)


def _short(text: str, limit: int = 40) -> str:
    tidy = "".join(c if c.isprintable() else " " for c in text)
    return tidy if len(tidy) <= limit else tidy[: limit - 1] + "…"


def _bad_characters(text: str) -> Iterator[Fault]:
    """The first character that YAML does not admit, with its place."""
    match = _NOT_TEXT.search(text)
    if match is None:
        return
    breaks = list(LINE_BREAK.finditer(text, 0, match.start()))
    column = match.start() - (breaks[-1].end() if breaks else 0) + 1
    code = ord(match[0])
    yield Fault(
        "yaml-syntax",
        f"the character U+{code:04X} cannot stand in a text file",
        "take it out; if the file looks right otherwise, save it again as plain UTF-8 text",
        len(breaks) + 1,
        column,
    )
