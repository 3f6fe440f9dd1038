"""What may be printed of a trial: sentences, a table, a picture, and the claims that they come to."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    complain,
    write,
    write_bytes,
)

if TYPE_CHECKING:
    from slackwater.analysis.statement.contents import Statement

FORMATS = ("text", "html", "csv", "json", "docx")
_IN_FOLDER = {"text": "statement.md", "html": "statement.html", "csv": "statement.csv"}
_DOCUMENT, _PICTURES = "statement.docx", ("statement.svg", "statement.png")
_CLAIMS = "claims.yaml"
_PICTURE_FORMS = (".svg", ".png")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument("trial", metavar="TRIAL", help="the trial's YAML file")
    parser.add_argument(
        "--folder",
        metavar="DIR",
        help=f"write everything there: {', '.join(_IN_FOLDER.values())}, {_DOCUMENT}, "
        f"{' and '.join(_PICTURES)}, {_CLAIMS}",
    )
    parser.add_argument("--claims", metavar="FILE", help="also write it as claims for 'audit'")
    parser.add_argument("--picture", metavar="FILE", help="also write its picture, .svg or .png")
    add_output_arguments(parser, FORMATS)


def run(args: argparse.Namespace) -> int:
    """State and write; 0 when done.

    Raises
    ------
    InputError
        When the trial cannot be used or a file cannot be written.
    """
    for target in _targets(args):
        check_output(target, [args.trial], replace=args.replace)
    from slackwater.analysis.api import statement

    made = statement(args.trial)
    if args.folder is not None:
        Path(args.folder).mkdir(exist_ok=True)
        _into_folder(made, args)
        write(made.summary + "\n", None)
    else:
        _one(made, args)
    return 0


def _targets(args: argparse.Namespace) -> list[str]:
    """Every file that will be written, looked at before any work is done."""
    if args.picture is not None and Path(args.picture).suffix.lower() not in _PICTURE_FORMS:
        raise _unfit("--picture", args.picture, "a picture ends in .svg or .png")
    if args.folder is None:
        if args.format == "docx" and args.output is None:
            raise _unfit("--format", "docx", "a document goes into a file: add --output FILE")
        if chosen_format(args, FORMATS) == "docx":
            _need_document_writer()
        return [one for one in (args.output, args.claims, args.picture) if one is not None]
    if args.output or args.format or args.claims or args.picture:
        raise _unfit(
            "--folder", args.folder, "with it everything is written; leave the others away"
        )
    if not Path(args.folder).exists():
        return [args.folder]  # made when there is something to put into it
    names = (*_IN_FOLDER.values(), _DOCUMENT, *_PICTURES, _CLAIMS)
    return [str(Path(args.folder) / name) for name in names]


def _one(made: Statement, args: argparse.Namespace) -> None:
    chosen = chosen_format(args, FORMATS)
    if chosen == "docx":
        from slackwater.analysis.report.statement.document import render

        write_bytes(render(made), args.output, replace=args.replace)
    else:
        texts = {"html": made.to_html, "csv": made.to_csv, "json": made.to_json}
        text = texts[chosen]() if chosen in texts else str(made)
        write(text, args.output, form=chosen, replace=args.replace)
    if args.claims is not None:
        _claims(made, args.trial, Path(args.claims), args.replace)
    if args.picture is not None:
        _picture(made, Path(args.picture), args.replace)


def _into_folder(made: Statement, args: argparse.Namespace) -> None:
    from slackwater.analysis.report.statement import document, markdown

    folder, replace = Path(args.folder), args.replace
    drawn = _PICTURES[0] if made.pictured is not None else ""
    texts = (markdown.render(made, drawn), made.to_html(), made.to_csv())
    for (form, name), text in zip(_IN_FOLDER.items(), texts, strict=True):
        write(text, str(folder / name), form=form, replace=replace)
    if document.installed():
        write_bytes(document.render(made), str(folder / _DOCUMENT), replace=replace)
    else:
        complain(f"no {_DOCUMENT}: python-docx is not installed (pip install 'slackwater[docx]')")
    for name in _PICTURES:
        _picture(made, folder / name, replace)
    _claims(made, args.trial, folder / _CLAIMS, replace)


def _claims(made: Statement, trial: str, target: Path, replace: bool) -> None:
    from slackwater.analysis.statement.claims_file import claims_text

    text = claims_text(made, trial, target.parent)
    if text:
        write(text, str(target), form="yaml", replace=replace)
    else:
        complain(f"no {target.name}: the trial carries no claim")


def _picture(made: Statement, target: Path, replace: bool) -> None:
    if made.pictured is None:
        complain(f"no {target.name}: the trial gives no interval to draw")
        return
    from slackwater.analysis.report.statement.picture import paint
    from slackwater.analysis.report.svg import save

    image = save(partial(paint, made.pictured), target.suffix.lower().lstrip("."))
    write_bytes(image, str(target), replace=replace)


def _need_document_writer() -> None:
    from slackwater.analysis.report.statement.document import installed

    if not installed():
        fix = "pip install 'slackwater[docx]', or take --format html, which word processors open"
        raise _unfit("--format", "docx", "python-docx is not installed", fix)


def _unfit(option: str, value: str, message: str, fix: str = "") -> Exception:
    from slackwater.protocol.findings import Finding, InputError, Place, Severity

    return InputError(
        [Finding("unfit-option", Severity.ERROR, f"{value}: {message}", fix, Place(option))]
    )
