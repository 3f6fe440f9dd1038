"""The ids under which the readers of protocols and trials report what is wrong, explained.

These stop the work: a file that has one of them cannot be used. The rules on how a trial is run and
planned are in `rules/`.
"""

from __future__ import annotations

FAULTS: dict[str, str] = {
    "missing-file": "A file is named that is not there. Paths in a file start from its own folder.",
    "unreadable-file": "The file is there and cannot be opened, or is a folder.",
    "too-large": "The file is larger than a protocol or trial can be. Runs belong in their table.",
    "not-utf-8": "The text is in another encoding. Save it again as UTF-8.",
    "empty-file": "The file holds nothing, or comments only.",
    "not-a-mapping": "The file holds a list or a text; keys with values are needed at its top level.",
    "several-documents": "'---' starts a second document; only one is read, so the rest would be lost.",
    "yaml-syntax": "The text is not YAML at this place. Reading stops here, so more may follow.",
    "yaml-tab": "A tab in the indentation, which YAML does not allow. Use spaces.",
    "yaml-depth": "Nested deeper than any of these files needs; most likely a bracket left open.",
    "yaml-alias": "An alias (*name) that leads nowhere, into itself, or is one of too many.",
    "yaml-merge": "A merge key (<<) is not read here, since it hides what a file says.",
    "yaml-tag": "A tag (!name) is not read here: each key knows what kind of value it needs.",
    "yaml-key": "A key has to be a plain word with a value after its colon.",
    "duplicate-key": "A key stands twice in one place. YAML would silently keep one of the two.",
    "wrong-kind": "A file of another kind than the one needed: a protocol for a trial, or the like.",
    "unknown-key": "A key that means nothing here, most likely misspelt. It would be passed over.",
    "missing-key": "A key that has no sensible default is not there.",
    "unfit-value": "A value of the wrong kind: another dimension, no unit, out of bounds, no date.",
    "unknown-protocol": "A trial names a protocol that is not shipped with the package.",
    "unknown-configuration": "A session or comparison names a configuration that is not declared.",
    "duplicate-session": "Two sessions have one id, so that runs could belong to either.",
    "more": "So many errors that the rest is left out until these are mended.",
}
