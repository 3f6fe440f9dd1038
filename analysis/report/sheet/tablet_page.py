"""The sheet for a tablet: one page with its scripts, its words and its data, which asks nothing of a network."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from markupsafe import Markup

from slackwater import __version__
from slackwater.analysis.report.page import environment

#: In the order in which they build on each other.
SCRIPTS = (
    "data.js",
    "rules.js",
    "journal.js",
    "figures.js",
    "store.js",
    "dom.js",
    "app.js",
    "clock.js",
    "receiver.js",
    "rehearsing.js",
    "fields.js",
    "codes.js",
    "handing.js",
    "screens.js",
    "unit_parts.js",
    "run_screen.js",
    "try_screen.js",
    "slip_screen.js",
    "main.js",
)
#: A comment that has its lines to itself; about a third of the scripts is such.
_COMMENTS = re.compile(r"^[ \t]*(?:/\*(?:(?!\*/).)*\*/|//[^\n]*)\n", re.MULTILINE | re.DOTALL)
ROOM = "slackwater.analysis.report.sheet"


def folder() -> Traversable:
    """Where the scripts, the styles and the words lie."""
    return files(ROOM) / "tablet"


def script() -> str:
    """All scripts as one, without their comments; a script that closes its own element would end it early."""
    parts = [(folder() / name).read_text("utf-8") for name in SCRIPTS]
    found = _COMMENTS.sub("", "".join(parts))
    if "</" in found or "<!--" in found:
        raise ValueError("a script of the tablet's page holds what would end its element")
    return found


def words() -> dict[str, str]:
    """The table of words: every text that the page shows, by its key."""
    found: dict[str, str] = json.loads((folder() / "words.json").read_text("utf-8"))
    return found


def render(data: dict[str, Any], *, served: bool = False) -> str:
    """The whole page as text, to be written as UTF-8.

    Parameters
    ----------
    data : dict
        As `tablet_data` gives it.
    served : bool
        The page comes from `--serve`, and may hand in where it came from.
    """
    styles, code = (folder() / "tablet.css").read_text("utf-8"), script()
    rule = [
        "default-src 'none'",
        f"script-src '{_hash(code)}'",
        f"style-src '{_hash(styles)}'",
        *(["connect-src 'self'"] if served else []),
        "base-uri 'none'",
        "form-action 'none'",
    ]
    return (
        environment("slackwater.analysis.report.sheet")
        .get_template("tablet.html.jinja")
        .render(
            rule="; ".join(rule),
            version=__version__,
            title=data["title"],
            served=served,
            styles=Markup(styles),
            code=Markup(code),
            words=Markup(_embedded(words())),
            data=Markup(_embedded(data)),
            lacking=words()["no-script"],
        )
    )


def _hash(text: str) -> str:
    """What a Content-Security-Policy knows an inline element by."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _embedded(data: Any) -> str:
    """JSON that no text in it can break out of: nothing in it looks like the start of a tag."""
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
