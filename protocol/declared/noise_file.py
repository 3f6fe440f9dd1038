"""Noise of earlier trials from a file of its own, as `slackwater noise` writes it."""

from __future__ import annotations

from pathlib import Path

from pydantic import Field, ValidationError

from slackwater.protocol.declared.protocol_parts import Part, PriorNoise
from slackwater.protocol.files.model_faults import findings_of
from slackwater.protocol.files.scalars import Snake
from slackwater.protocol.files.source import read_document
from slackwater.protocol.findings import InputError, Place


class NoiseFile(Part):
    """A file with the block `noise:` of a protocol and nothing else."""

    noise: dict[Snake, PriorNoise] = Field(
        min_length=1, description="What earlier trials showed of the scatter, by quantity."
    )


def noise_place(path: str | Path, quantity: str, key: str) -> Place:
    """Where a file of noise, or a protocol, says something of a quantity."""
    return read_document(path).place(("noise", quantity, key))


def load_noise(path: str | Path) -> dict[str, PriorNoise]:
    """Read the noise of earlier trials, from a file of its own or from a protocol.

    Raises
    ------
    InputError
        With everything that is wrong with the file.
    """
    document = read_document(path)
    if "protocol" in document.data:
        from slackwater.protocol.declared.protocol import load_protocol

        return dict(load_protocol(Path(path)).noise)
    try:
        return dict(NoiseFile.model_validate(document.data).noise)
    except ValidationError as error:
        raise InputError(findings_of(error, document, NoiseFile)) from None
