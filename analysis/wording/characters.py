"""Characters that a terminal can be trusted with."""

from __future__ import annotations

import unicodedata

#: For streams that cannot carry the typographic signs of the reports.
_ASCII = str.maketrans(
    {
        "−": "-",
        "–": "-",
        "—": "-",
        "─": "-",
        "━": "-",
        "│": "|",
        "±": "+/-",
        "·": ".",
        "×": "x",
        "…": "...",
        "≥": ">=",
        "≤": "<=",
        "°": "deg",
        "\u00a0": " ",
        "▲": "^",
        "▼": "v",
        "△": "^",
        "▽": "v",
        "○": "o",
        "◆": "=",
        "✕": "x",
    }
)


_DIRECTION = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u2028\u2029"


def printable(text: str) -> str:
    """The text on one line and with control characters made visible.

    A name from a file can then neither steer a terminal nor turn the reading direction around.
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(
        " " if c in "\t\n\r" else f"\\x{ord(c):02x}" if _steers(c) else c for c in text
    ).strip()


def _steers(character: str) -> bool:
    return unicodedata.category(character) == "Cc" or character in _DIRECTION


def encodable(text: str, encoding: str | None) -> str:
    """The text as the stream's encoding can carry it, with plain signs in place of typographic ones."""
    name = encoding or "utf-8"
    try:
        text.encode(name)
    except UnicodeEncodeError:
        text = utf_8(text).decode("utf-8")
        signs = {} if name.lower().replace("-", "") == "utf8" else _ASCII
        return text.translate(signs).encode(name, "replace").decode(name)
    return text


def utf_8(text: str) -> bytes:
    """The text as UTF-8; what is no character, as in a file's name of other bytes, becomes "?"."""
    return text.encode("utf-8", "replace")
