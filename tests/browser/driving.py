"""A browser driven from here: the DevTools protocol over two pipes, with nothing but the standard library."""

from __future__ import annotations

import base64
import json
import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from slackwater.analysis.report.pdf import headless

# The browser reads from 3 and writes to 4: what puts them there becomes the browser.
_ENDS = """
import os, sys
one, other = os.dup(int(sys.argv[1])), os.dup(int(sys.argv[2]))
one, other = (fd if fd > 4 else os.dup(os.dup(fd)) for fd in (one, other))
os.dup2(one, 3)
os.dup2(other, 4)
os.execvp(sys.argv[3], sys.argv[3:])
"""
SECONDS = 30.0  # after which something that was waited for is given up


class Driven:
    """A Chromium without a window, and one page in it.

    Parameters
    ----------
    program : str
        Of the browser.
    profile : Path
        Folder in which it keeps what pages store; the same one finds it again.
    """

    def __init__(self, program: str, profile: Path, *arguments: str) -> None:
        there_read, self._write = os.pipe()
        self._read, there_write = os.pipe()

        asked = headless(
            program, str(profile), "--remote-debugging-pipe", *arguments, "about:blank"
        )
        self.process = subprocess.Popen(
            [sys.executable, "-S", "-c", _ENDS, str(there_read), str(there_write), *asked],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            pass_fds=(there_read, there_write),
            start_new_session=True,
        )
        os.close(there_read)
        os.close(there_write)
        self._number, self._rest = 0, b""
        self.events: list[dict[str, Any]] = []
        self.session = ""
        self.target = ""
        self.open_tab()

    # --- the protocol ----------------------------------------------------------------------------

    def call(self, method: str, session: str | None = None, **given: Any) -> dict[str, Any]:
        """Ask the browser for something and wait for its answer."""
        self._number += 1
        asked: dict[str, Any] = {"id": self._number, "method": method, "params": given}
        belongs = self.session if session is None else session
        if belongs:
            asked["sessionId"] = belongs
        os.write(self._write, json.dumps(asked).encode() + b"\0")
        while True:
            told = self._message()
            if told.get("id") == asked["id"]:
                if "error" in told:
                    raise RuntimeError(f"{method}: {told['error']}")
                found: dict[str, Any] = told["result"]
                return found
            self.events.append(told)

    def _message(self) -> dict[str, Any]:
        end = time.monotonic() + SECONDS
        while b"\0" not in self._rest:
            ready, _, _ = select.select([self._read], [], [], max(0.0, end - time.monotonic()))
            if not ready:
                raise TimeoutError("the browser does not answer")
            piece = os.read(self._read, 1 << 16)
            if not piece:
                raise EOFError("the browser is gone")
            self._rest += piece
        first, _, self._rest = self._rest.partition(b"\0")
        found: dict[str, Any] = json.loads(first)
        return found

    # --- pages -----------------------------------------------------------------------------------

    def open_tab(self) -> str:
        """A new tab, which everything from here on is asked of; gives its session."""
        self.target = self.call("Target.createTarget", "", url="about:blank")["targetId"]
        self.session = self.call("Target.attachToTarget", "", targetId=self.target, flatten=True)[
            "sessionId"
        ]
        for domain in ("Page", "Runtime", "Network", "Log"):
            self.call(f"{domain}.enable")
        # A tab behind another one takes what is typed as the one in front does.
        self.call("Emulation.setFocusEmulationEnabled", enabled=True)
        return self.session

    def go(self, address: str) -> None:
        """Open a page and wait until it is there, and the one before it gone."""
        self.value("globalThis.isLeft = true")
        self.call("Page.navigate", url=address)
        self.until(
            "!globalThis.isLeft && document.readyState === 'complete' && location.href !== 'about:blank'"
        )

    def value(self, script: str) -> Any:
        """What an expression comes to in the page; a promise is waited for."""
        told = self.call(
            "Runtime.evaluate", expression=script, awaitPromise=True, returnByValue=True
        )
        if "exceptionDetails" in told:
            raise RuntimeError(json.dumps(told["exceptionDetails"])[:2000])
        return told["result"].get("value")

    def until(self, script: str, seconds: float = SECONDS) -> Any:
        """Wait until an expression is true; gives what it comes to."""
        end = time.monotonic() + seconds
        while True:
            try:
                if found := self.value(script):
                    return found
            except RuntimeError:
                pass  # the page is just being changed for another
            if time.monotonic() > end:
                raise TimeoutError(script)
            time.sleep(0.01)

    def key(self, key: str, *, shift: bool = False) -> None:
        """Press and release a key."""
        codes = {"Tab": 9, "Enter": 13, "Escape": 27, " ": 32, "ArrowRight": 39, "ArrowLeft": 37}
        given: dict[str, Any] = {"key": key, "modifiers": 8 if shift else 0}
        given["code"] = "Space" if key == " " else key
        given["windowsVirtualKeyCode"] = codes.get(
            key, ord(key.upper()) if key.isalnum() and len(key) == 1 else 0
        )
        if text := {"Enter": "\r", " ": " "}.get(key, key if len(key) == 1 else ""):
            given["text"] = text
        self.call("Input.dispatchKeyEvent", type="keyDown", **given)
        given.pop("text", None)
        self.call("Input.dispatchKeyEvent", type="keyUp", **given)

    def write(self, text: str) -> None:
        """Type a text into what has the focus."""
        self.call("Input.insertText", text=text)

    def size(self, width: int, height: int) -> None:
        """The size of the window, narrower than a window with a frame can be."""
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=False,
        )

    def picture(self, path: Path, *, full: bool = False) -> None:
        """What the page looks like, as PNG."""
        told = self.call("Page.captureScreenshot", captureBeyondViewport=full)
        path.write_bytes(base64.b64decode(told["data"]))

    # --- the end ---------------------------------------------------------------------------------

    def kill(self) -> None:
        """End every process of the browser at once, as an empty battery does."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self._gone()

    def close(self) -> None:
        """End it in order."""
        try:
            self.call("Browser.close", "")
            self.process.wait(10)
        except (OSError, EOFError, TimeoutError, RuntimeError, subprocess.TimeoutExpired):
            os.killpg(self.process.pid, signal.SIGKILL)
        self._gone()

    def _gone(self) -> None:
        self.process.wait(20)
        for end in (self._read, self._write):
            os.close(end)


Start = Callable[..., Driven]
