"""A page printed to PDF by Chromium, where there is one."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from slackwater import __version__

#: What the browser is called on one system or another.
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
_SECONDS = 120
_MAKER = re.compile(rb"(/Creator )(\((?:[^()\\]|\\.)*\))")


class NoPdf(RuntimeError):
    """No PDF could be printed; the text says why."""


def browser() -> str | None:
    """Path of the browser that prints; None where there is none."""
    return next((found for name in BROWSERS if (found := shutil.which(name))), None)


def headless(program: str, profile: str, *arguments: str) -> list[str]:
    """A command line for the browser without a window, with a profile of its own."""
    command = [program, "--headless", "--disable-gpu", "--no-first-run", "--disable-extensions"]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.append(
            "--no-sandbox"
        )  # it refuses to run as root otherwise; the page has no script
    return [*command, f"--user-data-dir={profile}", *arguments]


def printed(page: str) -> bytes:
    """The page as PDF.

    Parameters
    ----------
    page : str
        HTML that fetches nothing.

    Raises
    ------
    NoPdf
        Where there is no browser, or it printed nothing.
    """
    program = browser()
    if program is None:
        raise NoPdf("a PDF is printed by Chromium, and there is none on this machine")
    with tempfile.TemporaryDirectory(prefix="slackwater-") as folder:
        source, target = Path(folder, "page.html"), Path(folder, "page.pdf")
        source.write_text(page, encoding="utf-8")
        ask = ["--no-pdf-header-footer", f"--print-to-pdf={target}", source.as_uri()]
        try:
            subprocess.run(
                headless(program, str(Path(folder, "profile")), *ask),
                capture_output=True,
                check=False,
                timeout=_SECONDS,
            )
        except (OSError, subprocess.TimeoutExpired) as error:
            raise NoPdf(f"{program} did not print: {error}") from error
        if not target.is_file():
            raise NoPdf(f"{program} printed nothing")
        return _signed(target.read_bytes())


def _signed(data: bytes) -> bytes:
    """The PDF with this program as its maker, so that it is known again as one of its own.

    The name takes the room of the browser's, to the byte: a PDF counts its places from the start.
    """

    def named(found: re.Match[bytes]) -> bytes:
        name = f"(slackwater {__version__}, by way of Chromium".encode()
        return found[1] + name[: len(found[2]) - 1].ljust(len(found[2]) - 1) + b")"

    return _MAKER.sub(named, data, count=1)
