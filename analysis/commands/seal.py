"""Seal a protocol before the trial: the hash of its bytes, and of claims declared, with the time.

A seal proves that a file which fits it has the bytes it had when the seal was made. It does not
prove when that was: the clock is the maker's own. For others it counts from the moment it has left
your hands, so lodge it with a third party or commit it in a public place before the first run.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    complain,
    write,
)
from slackwater.protocol.files.reading import is_file, is_there
from slackwater.protocol.findings import Finding, InputError, Place, Severity

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.sealing.seal import Seal

FORMATS = ("text", "json")
WORDS = {
    "kept": "as sealed",
    "changed": "CHANGED",
    "missing": "MISSING",
    "not sealed": "NOT SEALED",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument("protocol", metavar="PROTOCOL", nargs="?", help="id or file of a protocol")
    parser.add_argument("--claims", metavar="CLAIMS", help="claims declared beforehand, sealed too")
    parser.add_argument(
        "--verify",
        metavar="FILE",
        help="a seal: compare its files with it; any other file: compare this with the seal beside it",
    )
    parser.add_argument(
        "--lodged",
        metavar="SHA256",
        help="with --verify: compare the seal's own hash with the one that was lodged",
    )
    add_output_arguments(parser, FORMATS)


def run(args: argparse.Namespace) -> int:
    """Make a seal, or verify one; 0 done, 1 when a file is not what was sealed.

    Raises
    ------
    InputError
        When a file cannot be read, or the seal would overwrite one.
    """
    if args.verify and (args.protocol or args.claims):
        raise _refuse("--verify takes the file of a seal and nothing else", "leave the rest out")
    if args.lodged and not args.verify:
        raise _refuse(
            "--lodged goes with --verify", "write 'slackwater seal --verify SEAL --lodged …'"
        )
    if args.verify:
        return _verify(args)
    if not args.protocol:
        raise _refuse("no protocol is named", "write 'slackwater seal PROTOCOL'")
    return _make(args)


def _refuse(message: str, fix: str, place: Place | None = None, rule: str = "") -> InputError:
    return InputError([Finding(rule or "option-unfit", Severity.ERROR, message, fix, place)])


# --- making --------------------------------------------------------------------------------------


def _make(args: argparse.Namespace) -> int:
    from datetime import datetime

    from slackwater import __version__
    from slackwater.protocol.claims.claims_file import load_claims
    from slackwater.protocol.sealing.seal import load_seal, moment, seal_path, to_data
    from slackwater.protocol.sealing.seal_making import seal_text

    protocol = _protocol(args.protocol)
    claims = load_claims(args.claims) if args.claims else None
    source = protocol.document.path
    # A shipped protocol is sealed where the user is, not where the program was installed.
    own = Path(seal_path(source).name) if source.name == f"{args.protocol}.yaml" else None
    target = Path(args.output) if args.output else own or seal_path(source)
    files = [source, *([args.claims] if args.claims else [])]
    if not target.name.endswith(".seal.yaml"):
        raise _refuse(f"{target} will not be found", "end the name of a seal in .seal.yaml")
    if is_there(target):
        raise _exists(target)
    check_output(str(target), files)
    text = seal_text(protocol, claims, target, datetime.now().astimezone(), __version__)
    write(text, str(target), form="yaml")
    _advise(protocol)
    seal = load_seal(target)
    mark = seal.document.sha256
    if args.format == "json":
        from slackwater.analysis.wording.json_text import to_json

        data = {"schema": 1, "file": str(target), "sha256": mark, "seal": to_data(seal)}
        write(to_json(data), None, form="json")
        return 0
    lines = [f"sealed on {moment(seal.made)}, by this computer's clock:"]
    lines += [f"  {sealed.file}  sha256 {sealed.sha256}" for sealed in seal.files]
    lines += [
        f"the seal itself, {target}, has sha256 {mark}",
        "Lodge that line, or the seal, with somebody else before the first run: by itself it does",
        "not prove when it was made.",
    ]
    write("\n".join(lines) + "\n", None)
    return 0


def _protocol(reference: str) -> Protocol:
    from slackwater.protocol.declared.protocol import load_protocol
    from slackwater.protocol.files.source import scan_document

    path = Path(reference)
    document = scan_document(path)[0] if is_file(path) else None
    if document is not None and "trial" in document.data:
        raise _refuse(
            "this is a trial, whose bytes change with every session; a protocol is sealed",
            "give the protocol that it names; one written into the trial goes into its own file",
            document.place(("trial",), key=True),
            "seal-unfit",
        )
    return load_protocol(path if is_file(path) else reference)


def _exists(target: Path) -> InputError:
    from slackwater.protocol.sealing.seal import load_seal, moment

    try:
        when = f", made on {moment(load_seal(target).made)}"
    except InputError:
        when = ""
    return _refuse(
        f"there is a seal already{when}",
        "a seal is not made anew; a changed protocol takes a new name or --output FILE",
        Place(str(target)),
        "output-exists",
    )


def _advise(protocol: Protocol) -> None:
    """What whoever seals wants to know while it can still be mended."""
    from slackwater.analysis.checking.applying import check_protocol

    if not protocol.analysis.worthwhile:
        complain(
            "the protocol declares no worthwhile difference, so every comparison will count as "
            "found afterwards"
        )
    found = len(check_protocol(protocol).findings)
    if found:
        name = protocol.document.path
        things = "1 thing" if found == 1 else f"{found} things"
        complain(f"'slackwater check {name}' has {things} to say of it; mend it before you run")


# --- verifying -----------------------------------------------------------------------------------


def _verify(args: argparse.Namespace) -> int:
    from slackwater.protocol.sealing.seal import load_seal, moment, to_data

    path = _seal_file(args.verify)
    check_output(args.output, [path, args.verify], replace=args.replace)
    seal = load_seal(path)
    found = _states(seal, None if path == Path(args.verify) else Path(args.verify))
    mark, lodged = seal.document.sha256, _lodged(args.lodged)
    same = None if lodged is None else lodged == mark
    good = same is not False and all(state == "kept" for _, state, _, _ in found)
    chosen = chosen_format(args, FORMATS)
    if chosen == "json":
        from slackwater.analysis.wording.json_text import to_json

        files: list[dict[str, Any]] = [
            {"file": name, "state": state, "sha256": sha256, "note": note}
            for name, state, sha256, note in found
        ]
        data = {
            "schema": 1,
            "file": str(path),
            "sha256": mark,
            "lodged": None if lodged is None else {"sha256": lodged, "same": same},
            "seal": to_data(seal),
            "kept": good,
            "files": files,
        }
        write(to_json(data), args.output, form=chosen, replace=args.replace)
    else:
        lines = [f"sealed on {moment(seal.made)}, by the maker's own clock:"]
        for name, state, _, note in found:
            lines.append(f"  {name}  {WORDS[state]}{f'; {note}' if note else ''}")
        lines += [f"the seal itself, {path}, has sha256 {mark}", *_compared(same)]
        write("\n".join(lines) + "\n", args.output, replace=args.replace)
    return 0 if good else 1


def _lodged(text: str | None) -> str | None:
    """The hash that was lodged, as typed or pasted."""
    if text is None:
        return None
    plain = "".join(text.split()).lower().removeprefix("sha256").lstrip(":=")
    if len(plain) != 64 or set(plain) - set("0123456789abcdef"):
        raise _refuse(
            f"'{text}' is no SHA-256: 64 hexadecimal digits are needed",
            "give the hash that was printed when the seal was made, whole",
        )
    return plain


def _compared(same: bool | None) -> list[str]:
    """What the hash that was lodged says of the seal."""
    if same is None:
        return ["compare it with the hash that was lodged: --lodged SHA256 does"]
    if same:
        return [
            "which is the hash that was lodged: the seal is the one that left the maker's hands"
        ]
    return ["which is NOT the hash that was lodged: this is another seal than was lodged then"]


def _states(seal: Seal, file: Path | None) -> list[tuple[str, str, str | None, str]]:
    """Name, state, hash sealed and a word on it: of the file asked about, and of all others sealed."""
    from slackwater.protocol.sealing.seal import state_of

    meant = None if file is None else seal.entry_of(file)
    found: list[tuple[str, str, str | None, str]] = []
    if file is not None and meant is None:
        named = " and ".join(sealed.file.as_posix() for sealed in seal.files)
        found.append((file.name, "not sealed", None, f"the seal beside it speaks of {named}"))
    for sealed in seal.files:
        state, note = state_of(seal, sealed, file if sealed is meant else None)
        found.append((sealed.file.as_posix(), state, sealed.sha256, note))
    return found


def _seal_file(named: str) -> Path:
    """The seal named, or the one beside the file named."""
    from slackwater.protocol.sealing.seal import ENDING, seal_path

    path = Path(named)
    if path.name.endswith(ENDING) or not is_file(path):
        return path
    beside = seal_path(path)
    if not is_there(beside):
        raise _refuse(
            f"there is no seal {beside.name} beside it",
            "give the file of the seal to --verify",
            Place(str(path)),
            "missing-file",
        )
    return beside
