"""What a command takes that can be done by several processes, or on a cluster."""

from __future__ import annotations

import argparse


def add_worker_arguments(parser: argparse.ArgumentParser, otherwise: str) -> None:
    """Add `--workers` and `--scheduler`.

    Parameters
    ----------
    parser : argparse.ArgumentParser
    otherwise : str
        Who works when neither is given.
    """
    parser.add_argument("--workers", metavar="N", type=_count, help=f"processes; else {otherwise}")
    parser.add_argument(
        "--scheduler", metavar="ADDRESS", help="of a Dask cluster that does the work instead"
    )


def _count(text: str) -> int:
    if not text.isdecimal() or not text.isascii() or not 1 <= int(text[:6]) <= 1024:
        raise argparse.ArgumentTypeError("a whole number from 1 to 1024 is needed")
    return int(text)
