"""Looking at a page in a browser without a window: what a script in it says, and what it prints to."""

from __future__ import annotations

import json
import re
import subprocess
from html import unescape
from pathlib import Path
from typing import Any

from slackwater.analysis.report.pdf import headless

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted(path.parent.name for path in (ROOT / "examples").glob("*/trial.yaml"))

# What stands beyond the side of the screen, how far the answer reaches, and what axe-core finds.
_LOOK = """
const wide = document.documentElement.clientWidth;
const over = [...document.querySelectorAll('body *')].filter(each => {
  const box = each.getBoundingClientRect();
  const apart = each.closest('thead') || each.closest('svg') || (wide > 600 && each.closest('.scroll'));
  return box.width > 0 && box.right > wide + 1 && !apart;
}).map(each => each.tagName + ' ' + each.textContent.slice(0, 40));
const told = {
  wide, over, scroll: document.documentElement.scrollWidth,
  bottom: document.querySelector('#answer').getBoundingClientRect().bottom + window.scrollY,
};
document.querySelectorAll('details').forEach(each => { each.open = true; });
if (typeof axe === 'undefined') parent.document.title = JSON.stringify(told);
else axe.run(document, {resultTypes: ['violations']}).then(found => {
  told.rules = found.passes.length;
  told.faults = found.violations.map(each => each.id + ': ' + each.nodes.slice(0, 3).map(
    node => node.html.slice(0, 120) + ' (' + node.failureSummary + ')').join(' | '));
}, error => { told.faults = [String(error)]; told.rules = 0; }).then(() => {
  parent.document.title = JSON.stringify(told);
});
"""


def look(chromium: str, axe: str, page: Path, width: int, folder: Path) -> dict[str, Any]:
    """What is to be said of a page in a window of a width; without axe-core, where things stand only.

    The page forbids scripts, so that its rule is taken out of the copy that is looked at; the script
    hands its answer over in the title. A window is never as narrow as a phone, so the page stands in
    a frame that is.
    """
    text = page.read_text("utf-8")
    bare, count = re.subn(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", text)
    assert count == 1
    inner, outer = folder / "inner.html", folder / "outer.html"
    script = f"<script>{axe}\n{_LOOK}</script></body>"
    inner.write_text(bare.replace("</body>", script), encoding="utf-8")
    outer.write_text(
        "<!DOCTYPE html><html><head><title>no answer</title></head><body>"
        f'<iframe title="page" src="{inner.name}" width="{width}" height="900"></iframe>',
        encoding="utf-8",
    )
    ask = ["--allow-file-access-from-files", "--virtual-time-budget=30000", "--dump-dom"]
    done = subprocess.run(
        headless(chromium, str(folder / "profile"), *ask, outer.as_uri()),
        capture_output=True,
        check=True,
        text=True,
        timeout=240,
    )
    found = re.search(r"<title>(.*?)</title>", done.stdout, re.DOTALL)
    assert found is not None
    assert found[1] != "no answer", done.stderr[-2000:]
    said: dict[str, Any] = json.loads(unescape(found[1]))
    return said
