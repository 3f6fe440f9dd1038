"""What rules rest on: standards and publications by clause, algebra, common practice.

A rule's `source` is a sentence for people, and is written so that an index can be made of it: its
parts are set apart by semicolons; each begins with a work that `WORKS` names, goes on after a comma
with the clause, and after a colon with what is taken from it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from slackwater.protocol.rules._rule import Rule


class Kind(StrEnum):
    """Of what kind a work is, in the order in which an index lists them."""

    STANDARD = "standards, regulations and guidelines"
    PUBLICATION = "books and papers"
    RECKONING = "what can be worked out"
    PRACTICE = "common practice"
    OWN = "what the protocol itself declares"


WORKS: dict[str, Kind] = {
    "40 CFR 1042": Kind.STANDARD,
    "40 CFR 1066": Kind.STANDARD,
    "ASTM E2935-21": Kind.STANDARD,
    "EN 590": Kind.STANDARD,
    "GPS SPS Performance Standard, 5th ed. (2020)": Kind.STANDARD,
    "ICH E9, Statistical Principles for Clinical Trials (1998)": Kind.STANDARD,
    "ISO 8666": Kind.STANDARD,
    "ISO 14946:2021": Kind.STANDARD,
    "ISO 15016:2015": Kind.STANDARD,
    "ITTC 7.5-04-01-01.1 (2017)": Kind.STANDARD,
    "JCGM 100:2008 (GUM)": Kind.STANDARD,
    "SAE J1321 (1986)": Kind.STANDARD,
    "TEOS-10": Kind.STANDARD,
    "US FDA, Multiple Endpoints in Clinical Trials (2022)": Kind.STANDARD,
    "B. Iglewicz and D. Hoaglin, How to Detect and Handle Outliers (1993)": Kind.PUBLICATION,
    "Chapman's Piloting": Kind.PUBLICATION,
    "D. Radojcic and J. Bowles, Chesapeake Power Boat Symposium (2010)": Kind.PUBLICATION,
    "E. C. Tupper, Introduction to Naval Architecture": Kind.PUBLICATION,
    "NIST/SEMATECH e-Handbook of Statistical Methods": Kind.PUBLICATION,
    "H. Bang, L. Ni and C. E. Davis, Controlled Clinical Trials 25 (2004)": Kind.PUBLICATION,
    "P. Armitage, C. K. McPherson and B. C. Rowe, J. R. Statist. Soc. A 132 (1969)": (
        Kind.PUBLICATION
    ),
    "R. A. Fisher, The Design of Experiments (1935)": Kind.PUBLICATION,
    "S. H. Hurlbert, Ecological Monographs 54 (1984)": Kind.PUBLICATION,
    "Student's t": Kind.RECKONING,
    "admiralty coefficient": Kind.RECKONING,
    "algebra": Kind.RECKONING,
    "simulation": Kind.RECKONING,
    "definitions of the units": Kind.RECKONING,
    "common practice": Kind.PRACTICE,
    "the protocol's own limit": Kind.OWN,
    "the protocol's own time": Kind.OWN,
    "the protocol's own tolerance": Kind.OWN,
}


@dataclass(frozen=True, slots=True)
class Clause:
    """One thing that a rule rests on.

    Parameters
    ----------
    work : str
        A key of `WORKS`.
    at : str
        Clause, table or pages; empty where the work has none, or where the whole of it is meant.
    says : str
        What is taken from it.
    """

    work: str
    at: str = ""
    says: str = ""

    @property
    def kind(self) -> Kind:
        """Of what kind the work is."""
        return WORKS[self.work]

    def to_dict(self) -> dict[str, str | None]:
        """As the JSON carries it."""
        return {
            "work": self.work,
            "kind": self.kind.value,
            "clause": self.at or None,
            "says": self.says or None,
        }


def clauses(source: str) -> tuple[Clause, ...]:
    """What a source names, in its order.

    Raises
    ------
    LookupError
        For a part that does not begin with a work of the list.
    """
    return tuple(_clause(part) for part in source.split("; "))


def _clause(part: str) -> Clause:
    fitting = [
        work for work in WORKS if part == work or part.startswith((f"{work}, ", f"{work}: "))
    ]
    if not fitting:
        raise LookupError(f"no work in the list begins '{part}'")
    work = max(fitting, key=len)
    at, _, says = part.removeprefix(work).partition(": ")
    return Clause(work, at.removeprefix(", "), says)


def by_work(rules: Iterable[Rule]) -> dict[str, list[tuple[Clause, Rule]]]:
    """Every work that rules rest on, with the clauses and the rules on each.

    Works stand in the order of `WORKS`, clauses in that of their numbers.
    """
    found: dict[str, list[tuple[Clause, Rule]]] = {}
    for rule in rules:
        for clause in clauses(rule.source):
            found.setdefault(clause.work, []).append((clause, rule))
    return {
        work: sorted(found[work], key=lambda row: (_numbers(row[0].at), row[1].id))
        for work in WORKS
        if work in found
    }


def _numbers(at: str) -> list[tuple[int, str]]:
    """A clause so that 10 comes after 9."""
    import re

    parts = re.findall(r"\d+|\D+", at)
    return [(int(part), "") if part.isdigit() else (0, part) for part in parts]
