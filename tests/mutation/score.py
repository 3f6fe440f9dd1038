"""How many of the faulty ones are found, and with the right rule named."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import protocol_faults
import run_faults
import trial_faults
import yaml
from mutant import Mutant, Subject, mutants

from slackwater.analysis.checking.examine import examine
from slackwater.protocol.library import shipped

COLUMNS = 11
EXAMPLES = Path(__file__).parents[2] / "examples"


def subjects() -> list[Subject]:
    """Every shipped protocol, every example's own protocol, and every example trial."""
    found = [Subject(name, "protocol", _read(path)) for name, path in shipped().items()]
    # The faults made are those of sweeps; rules on ratings and tries have faulty examples of their own.
    found = [each for each in found if not {"ratings", "manoeuvres"} & each.protocol.keys()]
    for path in sorted(EXAMPLES.glob("*/trial.yaml")):
        trial = _read(path)
        protocol = trial["protocol"]
        if isinstance(protocol, str):
            protocol = _read(shipped().get(protocol) or path.parent / protocol)
            if (path.parent / str(trial["protocol"])).is_file():
                found.append(Subject(f"{path.parent.name}/protocol", "protocol", protocol))
        if "runs" not in trial:
            continue  # it is cut from logs, where faults are planted by other means
        rows = tuple((path.parent / trial["runs"]).read_text("utf-8").splitlines())
        if len(rows[0].split(",")) != COLUMNS:
            continue  # faults are planted by place, in a table of the usual columns
        found.append(Subject(path.parent.name, "trial", protocol, trial, rows))
    return found


def _read(path: Path) -> dict[str, Any]:
    data: dict[str, Any] = yaml.load(path.read_text("utf-8"), yaml.BaseLoader)
    return data


def findings(mutant: Mutant, folder: Path) -> Counter[tuple[str, str]]:
    """What `check` finds in a mutant: rule and message, counted."""
    subject = mutant.subject
    if subject.kind == "protocol":
        path = folder / "protocol.yaml"
        path.write_text(mutant.text or _text(subject.protocol), encoding="utf-8")
    else:
        path = folder / "trial.yaml"
        (folder / "protocol.yaml").write_text(_text(subject.protocol), encoding="utf-8")
        path.write_text(_text(subject.trial | {"protocol": "protocol.yaml"}), encoding="utf-8")
        (folder / str(subject.trial["runs"])).write_text(
            "\n".join(subject.rows) + "\n", encoding="utf-8"
        )
    found = examine(str(path)).checked.findings
    return Counter((finding.rule, finding.message) for finding in found)


def _text(data: dict[str, Any]) -> str:
    return yaml.safe_dump(data, sort_keys=False, allow_unicode=True, width=10_000)


@dataclass
class Score:
    """The tally of one subject: for each kind of fault how many were made and found."""

    subject: str
    made: Counter[str] = field(default_factory=Counter)
    found: Counter[str] = field(default_factory=Counter)
    missed: list[str] = field(default_factory=list)

    @property
    def share(self) -> float:
        """Found with the right rule named, of all made."""
        return self.found.total() / max(self.made.total(), 1)


def faulty(subject: Subject, count: int, seed: int) -> Iterator[Mutant]:
    faults = (
        protocol_faults.FAULTS
        if subject.kind == "protocol"
        else {**trial_faults.FAULTS, **run_faults.FAULTS}
    )
    return mutants(subject, faults, count, seed)


def score(subject: Subject, count: int, folder: Path, seed: int = 1) -> Score:
    """Make faulty ones of a subject and see which are found by a rule that names the fault.

    Only what the sound subject does not raise itself counts as found.
    """
    before = findings(Mutant("", "", frozenset(), subject), folder)
    tally = Score(subject.name)
    for mutant in faulty(subject, count, seed):
        tally.made[mutant.fault] += 1
        new = {rule for rule, _ in findings(mutant, folder) - before}
        if new & mutant.expected:
            tally.found[mutant.fault] += 1
        else:
            told = ", ".join(sorted(new)) or "nothing"
            wanted = " or ".join(sorted(mutant.expected))
            tally.missed.append(f"{mutant.fault} ({mutant.about}): {told}; wanted {wanted}")
    return tally
