"""The tablet's page handed out over http, and what it hands in taken: nothing else is read or written."""

from __future__ import annotations

import hashlib
import ipaddress
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from slackwater.analysis.commands.output import complain
from slackwater.analysis.commands.sheet_layout import refuse
from slackwater.analysis.commands.writing import write_whole
from slackwater.analysis.sheet.aboard import MOST_BYTES, parse_aboard
from slackwater.protocol.findings import InputError

USUAL = "127.0.0.1:8765"  # the same port each time, so that a browser finds again what it keeps
MOST_FILES = 1000  # handed in, before somebody has to look
_SECONDS = 30  # that a request may take


class Server(ThreadingHTTPServer):
    """What is served, and where what is handed in goes.

    Parameters
    ----------
    where : tuple of str and int
        Address and port; port 0 takes any that is free.
    page : str
    trial : str
        Id of the trial whose sheets are taken; empty for those of a protocol.
    folder : Path
        Made when the first sheet comes in.
    """

    daemon_threads = True

    def __init__(self, where: tuple[str, int], page: str, trial: str, folder: Path) -> None:
        self.page, self.trial, self.folder = page.encode(), trial, folder
        super().__init__(where, _Handler)

    def take(self, data: bytes) -> str:
        """Keep what was handed in under a name that its content gives; the same again changes nothing.

        Raises
        ------
        InputError
            When it is not what the page hands in.
        """
        aboard = parse_aboard(data, "what was handed in")
        if aboard.trial != self.trial:
            raise refuse(f"it is of the trial '{aboard.trial}'", "hand it in where that is served")
        mark = "rehearsal-INVENTED-" if aboard.rehearsal else ""
        digest = hashlib.sha256(data).hexdigest()[:12]
        target = self.folder / f"{mark}aboard-{aboard.device or 'unnamed'}-{digest}.json"
        self.folder.mkdir(exist_ok=True)
        if target.exists():
            return target.name
        if sum(1 for _ in self.folder.iterdir()) >= MOST_FILES:
            raise refuse(f"the folder {self.folder} holds {MOST_FILES} files", "clear it out")
        write_whole(data, target, replace=False)
        complain(f"handed in: {target}")
        return target.name


class _Handler(BaseHTTPRequestHandler):
    server: Server
    timeout = _SECONDS
    server_version = "slackwater"
    sys_version = ""

    def do_GET(self) -> None:
        if not self._is_local():
            self._answer(HTTPStatus.FORBIDDEN, b"not under this name")
        elif self.path != "/":
            self._answer(HTTPStatus.NOT_FOUND, b"there is one page here: /")
        else:
            self._answer(HTTPStatus.OK, self.server.page, "text/html; charset=utf-8")

    do_HEAD = do_GET

    def do_POST(self) -> None:
        self.close_connection = True
        own = f"http://{self.headers.get('Host', '')}"
        if not self._is_local() or self.headers.get("Origin") != own:
            self._answer(HTTPStatus.FORBIDDEN, b"not from this page")
        elif self.path != "/hand-in":
            self._answer(HTTPStatus.NOT_FOUND, b"nothing is taken here")
        elif self.headers.get("Content-Type") != "application/json":
            self._answer(HTTPStatus.UNSUPPORTED_MEDIA_TYPE, b"JSON is needed")
        else:
            self._take()

    def _take(self) -> None:
        length = self.headers.get("Content-Length", "")
        if not length.isdecimal() or len(length) > 12:
            self._answer(HTTPStatus.LENGTH_REQUIRED, b"its length is needed")
            return
        if int(length) > MOST_BYTES:
            self._answer(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, b"more than a sheet holds")
            return
        data = self.rfile.read(int(length))
        try:
            if len(data) != int(length):
                raise refuse("it was cut short on the way", "hand it in again")
            name = self.server.take(data)
        except InputError as error:
            told = error.findings[0]
            self._answer(HTTPStatus.UNPROCESSABLE_ENTITY, f"{told.message}; {told.fix}".encode())
        except OSError as error:
            reason = f"the laptop cannot write it: {error.strerror or error}"
            self._answer(HTTPStatus.INSUFFICIENT_STORAGE, reason.encode())
        else:
            self._answer(HTTPStatus.OK, name.encode())

    def _is_local(self) -> bool:
        """Whether it was asked for by a number, not by a name that somebody else may have given us."""
        host = self.headers.get("Host", "").rpartition(":")[0] or self.headers.get("Host", "")
        if host == "localhost":
            return True
        try:
            ipaddress.ip_address(host.strip("[]"))
        except ValueError:
            return False
        return True

    def _answer(
        self, status: HTTPStatus, body: bytes, kind: str = "text/plain; charset=utf-8"
    ) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.send_header("Cache-Control", "no-store")
        self.send_header("X-Content-Type-Options", "nosniff")
        self.send_header("X-Frame-Options", "DENY")
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(body)

    def log_message(self, format: str, *args: object) -> None:
        """Nothing: what is handed in is told by itself."""


def serve(page: str, trial: str, on: str | None, folder: str) -> int:
    """Hand the page out until the user ends it; 0 then.

    Raises
    ------
    InputError
        When the address cannot be used.
    """
    address, port = _where(on or USUAL)
    if Path(folder).exists() and not Path(folder).is_dir():
        raise refuse(f"'{folder}' is a file", "give a folder to --output")
    try:
        server = Server((address, port), page, trial, Path(folder))
    except OSError as error:
        message = f"--on: {address}:{port} cannot be served: {error.strerror or error}"
        raise refuse(message, "give another address or port") from error
    with server:
        complain(f"the sheet is at http://{address}:{server.server_address[1]}/ until Ctrl-C")
        if not ipaddress.ip_address(address).is_loopback:
            complain(
                "everybody in this network can open it and hand in; over http browsers give no "
                "position to a page from another machine"
            )
        try:
            server.serve_forever()
        except KeyboardInterrupt:
            complain("ended")
    return 0


def _where(text: str) -> tuple[str, int]:
    address, _, port = text.rpartition(":")
    try:
        found = str(ipaddress.IPv4Address(address)), int(port)
        if not 0 <= found[1] <= 65535:
            raise ValueError
    except ValueError:
        raise refuse(f"--on: '{text}' is no address and port", f"write it as {USUAL}") from None
    return found
