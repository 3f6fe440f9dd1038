"""The statement of a trial: what may be printed, made from its result and from nothing else."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, ClassVar

from slackwater.analysis.result.result import InputFile, ProtocolStamp, Result, SealStamp
from slackwater.analysis.statement.footnotes import (
    cannot_tell,
    footnotes,
    provenance,
    what_was_run,
)
from slackwater.analysis.statement.lines import Entry, Line
from slackwater.analysis.statement.sections import Section, sections
from slackwater.analysis.statement.sentences import line_sentence, sentences, value_sentence
from slackwater.analysis.wording.answer import Answer
from slackwater.analysis.wording.json_text import head

if TYPE_CHECKING:
    import pandas as pd

_LONGEST_ID = 72


@dataclass(frozen=True, eq=False, repr=False)
class Statement(Answer):
    """What may be printed of a trial.

    Attributes
    ----------
    trial, title : str
        Id of the trial, and its title.
    run : tuple of str
        What was run, in sentences.
    sections : tuple of Section
        The deciding figure first; every line of every quantity that is told.
    cannot_tell : tuple of str
        What the trial does not tell.
    footnotes : tuple of str
        Rounding, conditions, deviations, runs set aside.
    provenance : tuple of str
        Protocol, files with their hashes, seal, program.
    claims : tuple of dict
        All of it as claims that `audit` can be given.
    stamps : tuple
        Protocol, seal and files, as the result has them.
    sessions, double_runs : int
        Behind each figure, at least; double runs in each session.
    """

    kind: ClassVar[str] = "statement"
    trial: str
    title: str
    run: tuple[str, ...]
    sections: tuple[Section, ...]
    cannot_tell: tuple[str, ...]
    footnotes: tuple[str, ...]
    provenance: tuple[str, ...]
    claims: tuple[Entry, ...]
    stamps: tuple[ProtocolStamp, SealStamp, tuple[InputFile, ...]]
    sessions: int
    double_runs: int

    def told(self, section: Section) -> tuple[str, ...]:
        """The sentences of a section."""
        return sentences(section)

    @cached_property
    def pictured(self) -> Section | None:
        """The section that the picture shows: what decides, else the first with several places."""
        drawn = [each for each in self.sections if any(line.interval for line in each.lines)]
        return next(
            (s for s in drawn if s.deciding or len(s.lines) > 1), drawn[0] if drawn else None
        )

    @property
    def caption(self) -> str:
        """What stands under the picture; empty without one."""
        section = self.pictured
        if section is None:
            return ""
        deciding = ", the figure that the protocol names to decide" if section.deciding else ""
        return (
            f"{self.title or self.trial}. Change in {section.title}{deciding}: “{section.modified}” against "
            f"“{section.baseline}”. Lines are intervals; a mark stands where a size is stated; the grey "
            "band is what could not be told from none."
        )

    @property
    def table(self) -> pd.DataFrame:
        """The lines, a row each."""
        import pandas as pd

        return pd.DataFrame([_row(section, line) for section, line in self.lines])

    @property
    def lines(self) -> tuple[tuple[Section, Line], ...]:
        """Every line with its section."""
        return tuple((section, line) for section in self.sections for line in section.lines)

    @property
    def summary(self) -> str:
        """How many lines show a difference."""
        shown = sum(line.said.shown for _, line in self.lines)
        return f"{self.trial}, {shown} of {len(self.lines)} differences shown"

    def to_dict(self) -> dict[str, Any]:
        """The statement as JSON carries it."""
        protocol, seal, inputs = self.stamps
        return {
            **head(),
            "trial": self.trial,
            "title": self.title,
            "run": list(self.run),
            "sections": [
                {
                    "quantity": section.lines[0].row.quantity,
                    "title": section.title,
                    "baseline": section.baseline,
                    "modified": section.modified,
                    "deciding": section.deciding,
                    "sentences": list(sentences(section)),
                    "lines": [_row(section, line) for line in section.lines],
                }
                for section in self.sections
            ],
            "cannot_tell": list(self.cannot_tell),
            "footnotes": list(self.footnotes),
            "caption": self.caption,
            "protocol": asdict(protocol),
            "seal": asdict(seal),
            "inputs": [asdict(each) for each in inputs],
            "claims": list(self.claims),
        }


def _row(section: Section, line: Line) -> dict[str, Any]:
    row = line.row
    return {
        "quantity": row.quantity,
        "title": section.title,
        "at": line.at,
        "baseline": row.baseline,
        "modified": row.modified,
        "baseline_value": line.baseline.text if line.baseline else None,
        "baseline_interval": line.baseline.interval if line.baseline else None,
        "modified_value": line.modified.text if line.modified else None,
        "modified_interval": line.modified.interval if line.modified else None,
        "unit": line.unit,
        "change": line.change,
        "interval": line.interval,
        "kept": line.kept,
        "said": str(line.said),
        "verdict": str(row.verdict),
        "sessions_baseline": row.sessions_baseline,
        "sessions_modified": row.sessions_modified,
        "deciding": section.deciding,
        "declared": row.declared,
    }


def statement_of(result: Result) -> Statement:
    """What may be printed of a result."""
    found = sections(result)
    return Statement(
        trial=result.trial,
        title=result.title,
        run=what_was_run(result),
        sections=found,
        cannot_tell=cannot_tell(result, found),
        footnotes=footnotes(result),
        provenance=provenance(result),
        claims=_claims(found),
        stamps=(result.protocol, result.seal, result.inputs),
        sessions=min((m.sessions for m in result.means), default=0),
        double_runs=min(
            (m.double_runs // m.sessions for m in result.means if m.double_runs), default=0
        ),
    )


def _claims(found: tuple[Section, ...]) -> tuple[Entry, ...]:
    """The claims of all lines, each with its sentence; what is said twice is said once."""
    claims: list[Entry] = []
    said: set[tuple[object, ...]] = set()
    ids: set[str] = set()
    for section in found:
        for line in section.lines:
            for entry in line.claims:
                key = _key(entry)
                if key in said:
                    continue
                said.add(key)
                name = _unused(entry["id"], ids)
                ids.add(name)
                claims.append({**entry, "id": name, "says": _quoted(section, line, entry)})
    return tuple(claims)


def _key(entry: Entry) -> tuple[object, ...]:
    """What makes a claim the same as another: a value belongs to one configuration alone."""
    stated = entry["stated"]
    alone = next(iter(stated)) if len(stated) == 1 else ""
    pair = (
        entry[alone]
        if alone in ("baseline", "modified")
        else (entry["baseline"], entry["modified"])
    )
    return entry["quantity"], entry.get("at"), pair, tuple(sorted(stated.values()))


def _unused(name: str, ids: set[str]) -> str:
    name, number = name[:_LONGEST_ID], 2
    found = name
    while found in ids:
        found, number = f"{name}-{number}", number + 1
    return found


def _quoted(section: Section, line: Line, entry: Entry) -> str:
    side = next(iter(entry["stated"]))
    if side in ("baseline", "modified"):
        return value_sentence(section, line, side)
    return line_sentence(section, line, margin=str(entry["id"]).endswith("-margin"))
