"""The YAML reader: every scalar a text, every fault with its place, and never a crash."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import example, given, settings
from hypothesis import strategies as st

from slackwater.protocol.files import yaml_tree
from slackwater.protocol.files.fault_ids import FAULTS
from slackwater.protocol.files.source import Document, document_of, read_document, scan_document
from slackwater.protocol.findings import InputError


@pytest.fixture(params=["C", "Python"], autouse=True)
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Both of PyYAML's parsers: they word and place their errors differently."""
    if request.param == "C" and not hasattr(yaml, "CBaseLoader"):
        pytest.skip("PyYAML was built without libyaml")
    loader = yaml.CBaseLoader if request.param == "C" else yaml.BaseLoader
    monkeypatch.setattr(yaml_tree, "_LOADER", loader)
    return str(request.param)


def write(folder: Path, content: str | bytes) -> Path:
    path = folder / "file.yaml"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def faults(folder: Path, content: str | bytes) -> list[tuple[str, int | None, int | None]]:
    with pytest.raises(InputError) as caught:
        read_document(write(folder, content))
    return [(f.rule, f.place.line, f.place.column) for f in caught.value.findings if f.place]


# The traps of YAML 1.1, as its type repository has them: yaml.org/type, int, float, bool, timestamp.
TRAPS = [
    "yes",
    "no",
    "on",
    "off",
    "045",
    "010",
    "12:30",
    "1e-3",
    "null",
    "~",
    "2026-05-04",
    "1_000",
]


@pytest.mark.parametrize("text", TRAPS)
def test_no_scalar_is_guessed_at(tmp_path: Path, text: str) -> None:
    assert read_document(write(tmp_path, f"key: {text}\n")).data == {"key": text}


def test_document_knows_its_file(tmp_path: Path) -> None:
    content = b"\xef\xbb\xbfa: {b: [x, y]}\r\nc: \xc2\xb0\r\n"
    document = read_document(write(tmp_path, content))
    assert document.data == {"a": {"b": ["x", "y"]}, "c": "°"}  # the mark is no part of the key
    assert document.sha256 == hashlib.sha256(content).hexdigest()
    assert document.folder == tmp_path


PLACES = """\
title: Example
loading:
  fuel: {at_least: 40 %}
  crew:
    same: true
list:
  - one
  - {a: 1}
empty:
"""


@pytest.mark.parametrize(
    ("loc", "key", "line", "column"),
    [
        ((), False, 1, 1),
        (("title",), False, 1, 8),
        (("title",), True, 1, 1),
        (("loading", "fuel", "at_least"), False, 3, 20),
        (("loading", "fuel", "at_least"), True, 3, 10),
        (("loading", "fuel", "at_most"), False, 3, 9),  # not there: the mapping it is missing from
        (("loading", "crew"), False, 4, 3),  # a block: its key
        (("loading", "crew", "same"), False, 5, 11),
        (("list", 0), False, 7, 5),
        (("list", 1, "a"), False, 8, 9),
        (("list", 7), False, 6, 1),
        (("empty",), False, 9, 1),
        (("nowhere", "at", "all"), False, 1, 1),
    ],
)
def test_places(
    tmp_path: Path, loc: tuple[str | int, ...], key: bool, line: int, column: int
) -> None:
    place = read_document(write(tmp_path, PLACES)).place(loc, key=key)
    assert (place.line, place.column) == (line, column)
    assert place.excerpt == PLACES.splitlines()[line - 1]


def test_part_keeps_its_places(tmp_path: Path) -> None:
    part = read_document(write(tmp_path, PLACES)).part("loading")
    assert part.data == {"fuel": {"at_least": "40 %"}, "crew": {"same": "true"}}
    assert part.place(("fuel", "at_least")).line == 3


def test_all_faults_but_those_of_syntax_are_told_at_once(tmp_path: Path) -> None:
    text = """\
a: 1
a: 2
<<: {b: 1}
c: *nothing
d: !!int 3
e: &e [*e]
[x, y]: 2
"": 3
"""
    assert faults(tmp_path, text) == [
        ("duplicate-key", 2, 1),
        ("yaml-merge", 3, 1),
        ("yaml-alias", 4, 4),
        ("yaml-tag", 5, 4),
        ("yaml-alias", 6, 8),
        ("yaml-key", 7, 1),
        ("yaml-key", 8, 1),
    ]


def test_a_repeated_key_names_the_first(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="the key 'a' stands on line 1 already"):
        read_document(write(tmp_path, "a: 1\nb: 2\na: 3\n"))


@pytest.mark.parametrize(
    ("content", "rule", "line", "column"),
    [
        ("", "empty-file", 1, 1),
        ("# only a comment\n", "empty-file", 1, 1),
        ("- a\n- b\n", "not-a-mapping", 1, 1),
        ("words\n", "not-a-mapping", 1, 1),
        ("a: 1\n---\nb: 2\n", "several-documents", 2, 1),
        ("a:\n\tb: 1\n", "yaml-tab", 2, 1),
        ("a:\n  \tb: [\n", "yaml-tab", 2, 3),
        ("a: b: c\n", "yaml-syntax", 1, 5),
        ("a: 1\n  b: 2\n", "yaml-syntax", 2, 4),
        ("a: 'x\nb: 2\n", "yaml-syntax", 1, 4),
        ("a: [1, 2\n", "yaml-syntax", 1, 4),
        ("a: {b: 1\nc: 2}\n", "yaml-syntax", 2, 2),
        ("a: @x\n", "yaml-syntax", 1, 4),
        ("a: %x\n", "yaml-syntax", 1, 4),
        ("a: }\n", "yaml-syntax", 1, 4),
        ("a: - b\n", "yaml-syntax", 1, 4),
        ("a: 1\nb: \x00\n", "yaml-syntax", 2, 4),
        ("a: &\n", "yaml-syntax", 1, 5),
        ("a: !x!y z\n", "yaml-syntax", 1, 4),
        ("%YAML 3.0\n---\na: 1\n", "yaml-syntax", 1, 1),
        (b"a: 1\nb: \xb0C\n", "not-utf-8", 2, 4),
        ("a: 1\n".encode("utf-16"), "not-utf-8", 1, 1),
        ("a: 1\n".encode("utf-32"), "not-utf-8", 1, 1),
        ("a: " + "[" * 30 + "]" * 30, "yaml-depth", 1, 23),
    ],
)
def test_one_fault(tmp_path: Path, content: str | bytes, rule: str, line: int, column: int) -> None:
    assert faults(tmp_path, content) == [(rule, line, column)]


def test_messages_are_in_plain_words(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        read_document(write(tmp_path, "title: Speed: before and after\n"))
    (finding,) = caught.value.findings
    assert finding.message == "a ':' that cannot stand here"
    assert finding.fix.endswith("put a text that holds ': ' in quotes")
    assert finding.render().splitlines()[1:3] == [
        "    title: Speed: before and after",
        "                ^",
    ]


def test_too_many_aliases(tmp_path: Path) -> None:
    text = "a: &a 1\nb: [" + ", ".join(["*a"] * 200) + "]\n"
    assert [rule for rule, *_ in faults(tmp_path, text)] == ["yaml-alias"]


def test_aliases_that_multiply_are_stopped(tmp_path: Path) -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 10)}]" for i in range(1, 9)]
    found = faults(tmp_path, "\n".join(lines))
    assert [rule for rule, *_ in found] == ["too-large"]


def test_a_plain_alias_is_followed(tmp_path: Path) -> None:
    document = read_document(write(tmp_path, "a: &a {x: 1}\nb: *a\n"))
    assert document.data == {"a": {"x": "1"}, "b": {"x": "1"}}


def test_too_large_a_file(tmp_path: Path) -> None:
    assert faults(tmp_path, "a: " + "x" * 1_000_000)[0][0] == "too-large"


@pytest.mark.parametrize(
    ("name", "rule"),
    [("absent.yaml", "missing-file"), (".", "unreadable-file"), ("a\0b", "unreadable-file")],
)
def test_no_file_to_read(tmp_path: Path, name: str, rule: str) -> None:
    with pytest.raises(InputError) as caught:
        read_document(tmp_path / name)
    assert [f.rule for f in caught.value.findings] == [rule]


def test_excerpts_are_safe_to_print(tmp_path: Path) -> None:
    document = read_document(write(tmp_path, f"a: x\u202ey\nb: {'z' * 500}\n"))
    assert document.place(("a",)).excerpt == "a: x\ufffdy"  # no mark that turns the text around
    assert len(document.place(("b",)).excerpt) < 200


def test_data_made_in_python_has_no_place() -> None:
    place = document_of({"a": 1}).place(("a",))
    assert (place.file, place.line) == ("<python>", None)


# --- any input -----------------------------------------------------------------------------------

PIECES = st.sampled_from(
    ["a", "b: ", ": ", "- ", "\n", "  ", "\t", "{", "}", "[", "]", ",", "'", '"', "&x ", "*x", "!!int ",
     "# ", "|\n", ">\n", "---\n", "...\n", "? ", "%", "@", "\\", "<<: ", "é", "\x85", "\u2028", "\r\n"]
)  # fmt: skip


def outcome(folder: Path, content: bytes) -> Document | None:
    """A document, or None with findings that all have a place; anything else fails the test."""
    path = write(folder, content)
    document, findings = scan_document(path)
    if document is not None and not findings:
        assert read_document(path) == document
        return document
    assert findings
    lines = content.count(b"\n") + content.count(b"\r") + 10
    for finding in findings:
        assert finding.place is not None
        assert finding.message
        assert finding.rule in FAULTS
        assert (finding.place.line or 1) <= lines + content.count(b"\xc2\x85") + content.count(
            b"\xe2"
        )
    return None


@given(st.binary(max_size=300))
@example(b"\xff\xfe")
@example(b"\xef\xbb\xbf")
def test_any_bytes(tmp_path_factory: pytest.TempPathFactory, content: bytes) -> None:
    outcome(tmp_path_factory.getbasetemp(), content)


@given(st.lists(PIECES, max_size=40).map("".join))
@settings(max_examples=300)
def test_any_yaml_like_text(tmp_path_factory: pytest.TempPathFactory, content: str) -> None:
    outcome(tmp_path_factory.getbasetemp(), content.encode())


WORDS = st.text(st.characters(codec="ascii", categories=["Ll", "Nd"]), min_size=1, max_size=8)
TREES = st.dictionaries(
    WORDS,
    st.recursive(
        WORDS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(WORDS, inner, max_size=3)
    ),
    min_size=1, max_size=4,
)  # fmt: skip


@given(TREES, st.sampled_from([None, False, True]))
def test_data_and_places_agree_with_pyyaml(
    tmp_path_factory: pytest.TempPathFactory, data: dict[str, Any], flow: bool | None
) -> None:
    text = yaml.dump(data, Dumper=yaml.SafeDumper, default_flow_style=flow)
    document = outcome(tmp_path_factory.getbasetemp(), text.encode())
    assert document is not None
    assert document.data == yaml.load(text, Loader=yaml.BaseLoader) == data
    for loc, mark in leaves(yaml.compose(text, Loader=yaml.BaseLoader)):
        place = document.place(loc)
        assert (place.line, place.column) == (mark.line + 1, mark.column + 1)


def leaves(node: Any, loc: tuple[str | int, ...] = ()) -> list[tuple[tuple[str | int, ...], Any]]:
    """Every scalar that PyYAML's own composer finds, with its place."""
    if isinstance(node, yaml.ScalarNode):
        return [(loc, node.start_mark)]
    if isinstance(node, yaml.SequenceNode):
        return [leaf for i, one in enumerate(node.value) for leaf in leaves(one, (*loc, i))]
    return [leaf for key, one in node.value for leaf in leaves(one, (*loc, key.value))]
