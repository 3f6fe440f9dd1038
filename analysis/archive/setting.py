"""A protocol with some of its keys set otherwise: what would the verdicts be?"""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from dataclasses import replace
from typing import Any

from slackwater.protocol.declared.protocol import Protocol, build_protocol, load_protocol
from slackwater.protocol.declared.trial import Trial
from slackwater.protocol.files.model_faults import shortened
from slackwater.protocol.files.source import document_of
from slackwater.protocol.findings import Finding, InputError, Place, Severity

#: Dotted keys of a protocol and what they are set to, as text.
Setting = Mapping[str, str]
#: Keys that are no method: what was measured, and how the trial was run, cannot be set afterwards.
_SETTABLE = ("analysis", "noise")


def setting_of(words: list[str]) -> dict[str, str]:
    """What `--set KEY=VALUE` says, each key once.

    Raises
    ------
    InputError
    """
    found: dict[str, str] = {}
    for word in words:
        key, sign, value = word.partition("=")
        key, value = key.strip(), value.strip()
        if not sign or not key or not value:
            raise _refused(word, "this is no setting", "write it as analysis.confidence=99%")
        if key.split(".")[0] not in _SETTABLE or "." not in key:
            raise _refused(
                word,
                f"'{key}' cannot be set for trials that were run",
                f"set a key below {' or '.join(_SETTABLE)}, as in analysis.confidence=99%",
            )
        if key in found:
            raise _refused(word, f"'{key}' is set twice", "leave one out")
        found[key] = value
    return found


def named(setting: Setting) -> str:
    """A setting by name, the same whatever the order; empty for trials as declared."""
    return ", ".join(f"{key}={value}" for key, value in sorted(setting.items()))


def with_setting(trial: Trial, setting: Setting) -> Trial:
    """The trial with its protocol set otherwise.

    Raises
    ------
    InputError
        When the protocol cannot be so.
    """
    if not setting:
        return trial
    made, faults = _changed(trial.protocol, setting)
    if made is None:
        raise InputError(shortened(faults))
    made._document = trial.protocol.document
    return trial.model_copy(update={"protocol": made})


def check_keys(setting: Setting) -> None:
    """Refuse a key that no protocol has, before hundreds of trials are read.

    Raises
    ------
    InputError
    """
    _, faults = _changed(load_protocol("two-way-sweep"), setting)
    unknown = [fault for fault in faults if fault.rule == "unknown-key"]
    if unknown:
        raise InputError(unknown)


def _changed(protocol: Protocol, setting: Setting) -> tuple[Protocol | None, list[Finding]]:
    data = deepcopy(protocol.document.data)
    for key, value in setting.items():
        _put(data, key.split("."), _scalar(key, value))
    made, faults = build_protocol(document_of(data))
    # What is set stands in no file, so that its faults have no line.
    place = Place(f"--set {named(setting)}")
    return made, [replace(fault, place=place) for fault in faults]


def _scalar(key: str, value: str) -> str:
    """A bare number where a percentage is wanted is one: the one thing that a shell makes awkward."""
    return f"{value} %" if key == "analysis.confidence" and _is_number(value) else value


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _put(data: dict[str, Any], steps: list[str], value: str) -> None:
    for step in steps[:-1]:
        inner = data.get(step)
        data[step] = inner = inner if isinstance(inner, dict) else {}
        data = inner
    data[steps[-1]] = value


def _refused(word: str, message: str, fix: str) -> InputError:
    return InputError(
        [Finding("unknown-setting", Severity.ERROR, message, fix, Place(f"--set {word}"))]
    )
