"""The command line: which command, its errors in plain words, its exit code.

A command lives in its own module with `add_arguments(parser)` and `run(args) -> int`. Only the
module of the command asked for is imported, and none for `--help` and `--version`.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from typing import NoReturn

from slackwater import __version__

DONE, WANTING, UNUSABLE, FAULT, INTERRUPTED = 0, 1, 2, 3, 130

#: Name of each command: its module and its help in a line.
COMMANDS: dict[str, tuple[str, str]] = {
    "check": (
        "slackwater.analysis.commands.check",
        "look over protocols and trials, every fault at once",
    ),
    "explain": (
        "slackwater.analysis.commands.explain",
        "what a rule looks at, why, and how to mend it",
    ),
    "new": (
        "slackwater.analysis.commands.new",
        "a protocol or a trial to start from, with comments",
    ),
    "logs": (
        "slackwater.analysis.commands.logs",
        "what instruments wrote: sources, rates, gaps, faults",
    ),
    "analyse": (
        "slackwater.analysis.commands.analyse",
        "from the runs of a trial to its verdicts",
    ),
    "statement": (
        "slackwater.analysis.commands.statement",
        "what may be printed of a trial, and the claims it comes to",
    ),
    "sheet": (
        "slackwater.analysis.commands.sheet",
        "what the crew takes aboard: the runs in order, to fill in",
    ),
    "rehearse": (
        "slackwater.analysis.commands.rehearse",
        "an invented trial, to practise from sheet to verdict",
    ),
    "audit": (
        "slackwater.analysis.commands.audit",
        "published claims held against themselves and the data",
    ),
    "pool": (
        "slackwater.analysis.commands.pool",
        "the same change on several boats, as one statement",
    ),
    "archive": (
        "slackwater.analysis.commands.archive",
        "the trials below a folder, kept in a store and summed up",
    ),
    "noise": (
        "slackwater.analysis.commands.noise",
        "from past trials to the noise that a plan needs",
    ),
    "plan": (
        "slackwater.analysis.commands.plan",
        "how many sessions and double runs, at what cost",
    ),
    "seal": (
        "slackwater.analysis.commands.seal",
        "record what was declared before the trial, and verify it",
    ),
}

_WIDTH = 18
_EXITS = (
    "exit codes: 0 done, 1 found wanting (check, audit, seal --verify), 2 the input cannot be\n"
    "used, 3 a fault of the program"
)


class UsageError(Exception):
    """A command line that cannot be understood."""


class Parser(argparse.ArgumentParser):
    """An argument parser that raises instead of leaving, and does not guess at options."""

    def __init__(self, prog: str, description: str = "", epilog: str = "") -> None:
        super().__init__(
            prog=prog,
            description=description,
            epilog=epilog,
            allow_abbrev=False,
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        self.add_argument(
            "--trace", action="store_true", help="show where in the program a fault arose"
        )

    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{message}\n    see: {self.prog} --help")

    def _print_message(self, message: str, file: object = None) -> None:
        """Help and version, on standard output, as everything else that goes there."""
        from slackwater.analysis.commands.output import write

        write(message, None)

    def parse(self, words: Sequence[str]) -> argparse.Namespace:
        """Parse every word, with a suggestion for an option that does not exist.

        Raises
        ------
        UsageError
        """
        # Looked at first, so that a misspelt option is named rather than what it left missing.
        options = [word for action in self._actions for word in action.option_strings]
        for word in words:
            if word == "--":
                break
            name = word.split("=", 1)[0]
            if name.startswith("--") and name not in options:
                self.error(f"unknown option {name!r}{did_you_mean(name, options)}")
        found, left = self.parse_known_args(words)
        if left:
            kind = "option" if left[0].startswith("-") else "argument"
            self.error(f"unknown {kind} {left[0]!r}")
        return found


def did_you_mean(word: str, known: Sequence[str]) -> str:
    """ "; did you mean 'x'?" when something is close, else an empty text."""
    import difflib

    close = difflib.get_close_matches(word, known, n=1, cutoff=0.6)
    return f"; did you mean {close[0]!r}?" if close else ""


def _help() -> str:
    lines = [f"  {name:<{_WIDTH}}{text}" for name, (_, text) in COMMANDS.items()]
    commands = "\n".join(["commands:", *lines])
    return f"{commands}\n\nslackwater COMMAND --help says more of each.\n{_EXITS}"


def _split(argv: Sequence[str]) -> tuple[list[str], list[str]]:
    """The words before the command, and the command with the rest."""
    for index, word in enumerate(argv):
        if not word.startswith("-"):
            return list(argv[:index]), list(argv[index:])
    return list(argv), []


def _main_parser() -> Parser:
    parser = Parser(
        "slackwater", "A statistical validator for on-water performance trials of boats.", _help()
    )
    parser.usage = "slackwater [--version] [--help] COMMAND ..."
    parser.add_argument("--version", action="version", version=f"slackwater {__version__}")
    return parser


def _dispatch(argv: Sequence[str]) -> int:
    before, rest = _split(argv)
    parser = _main_parser()
    parser.parse(before)
    if not rest:
        raise UsageError("no command was given\n    see: slackwater --help")
    name, words = rest[0], rest[1:]
    if name not in COMMANDS:
        known = ", ".join(COMMANDS)
        guess = did_you_mean(name, list(COMMANDS))
        raise UsageError(f"unknown command {name!r}{guess or f'; there are {known}'}")
    from importlib import import_module

    module = import_module(COMMANDS[name][0])
    command = Parser(f"slackwater {name}", module.__doc__ or "")
    module.add_arguments(command)
    return int(module.run(command.parse(words)))


def _say(text: str) -> None:
    from slackwater.analysis.commands.output import complain

    complain(text)


def _of_the_system(error: OSError) -> Exception:
    """What the system says of a file, as an error of the input."""
    from slackwater.protocol.findings import Finding, InputError, Place, Severity

    message = f"the file cannot be used: {(error.strerror or str(error)).lower()}"
    place = Place(str(error.filename))
    fix = "check the name and the permissions"
    return InputError([Finding("unreadable-file", Severity.ERROR, message, fix, place)])


def _explain(error: Exception, trace: bool) -> int:
    """Put an exception into words; returns the exit code."""
    from slackwater.protocol.findings import InputError

    if isinstance(error, OSError) and isinstance(error.filename, str | bytes):
        error = _of_the_system(error)
    if isinstance(error, InputError):
        from slackwater.analysis.commands.output import summary

        _say(
            "\n".join([*(finding.render() for finding in error.findings), summary(error.findings)])
        )
        return UNUSABLE
    if trace:
        import traceback

        _say("".join(traceback.format_exception(error)).rstrip())
    _say(
        f"slackwater: a fault of the program, not of your files: {type(error).__name__}: {error}\n"
        "    Please report it with the command as you gave it, this message and the version "
        f"({__version__}),\n    and with the files if they may be shared."
        + ("" if trace else " With --trace the command shows where it arose.")
    )
    return FAULT


def command() -> NoReturn:
    """The command as installed: a process of its own, that does one thing and ends."""
    import gc
    import os
    import signal
    import warnings
    from contextlib import suppress

    # Nothing here lives long enough to be worth collecting, and the matrices are too small for
    # threads to gain anything: together a fifth of the time of an analysis.
    gc.disable()
    # A library's warning, with its line of code, is nothing to whoever tries a boat; what the
    # arithmetic warns of the analysis tells itself.
    if not sys.warnoptions:
        warnings.simplefilter("ignore")
    signal.signal(signal.SIGTERM, _asked_to_end)
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        code = main()
    except SystemExit as leaving:
        code = int(leaving.code or DONE)
    # Files are closed where they were written. Taking hundreds of modules apart would be another
    # tenth of the time, and frees nothing that the end of the process does not.
    for stream in filter(None, (sys.stdout, sys.stderr)):
        with suppress(OSError, ValueError):
            stream.flush()
    os._exit(code)


def _asked_to_end(number: int, frame: object) -> NoReturn:
    """Ending on request takes the same way as Ctrl-C: what is half done is cleared away."""
    raise KeyboardInterrupt


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line.

    Returns
    -------
    int
        0 done; 1 found wanting; 2 the input or the command line cannot be used; 3 a fault of the
        program; 130 interrupted.
    """
    from slackwater.analysis.wording.progress import told
    from slackwater.protocol.files.reading import remembering

    words = list(sys.argv[1:] if argv is None else argv)
    try:
        with remembering(), told(_say):
            code = _dispatch(words)
        return _flushed(code)
    except SystemExit as leaving:  # argparse has printed help or version
        raise SystemExit(_flushed(int(leaving.code or DONE))) from None
    except UsageError as error:
        _say(f"slackwater: {error}")
        return UNUSABLE
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        return _reader_left()
    except Exception as error:  # noqa: BLE001 - the last resort: said in words, exit code 3
        return _explain(error, "--trace" in words)


def _flushed(code: int) -> int:
    """The exit code, once what was printed has left this process."""
    try:
        if sys.stdout is not None:
            sys.stdout.flush()
    except BrokenPipeError:
        return _reader_left()
    except OSError as error:
        _say(f"slackwater: standard output cannot be written: {error.strerror or error}")
        return UNUSABLE
    return code


def _reader_left() -> int:
    """Whoever read our output has enough of it; the flush at exit must not complain."""
    import os

    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return DONE


if __name__ == "__main__":
    sys.exit(main())
