"""A sample of the mutation run; the whole table is printed by `python tests/mutation/run.py`."""

from __future__ import annotations

from pathlib import Path

import pytest
from mutant import Mutant, Subject
from score import findings, score, subjects

SAMPLE = {"protocol": 90, "trial": 72}  # each fault about twice
BOUND = 0.95
SUBJECTS = subjects()
SOUND = [each for each in SUBJECTS if each.name != "one-morning-each"]


@pytest.mark.parametrize("subject", SUBJECTS[::3], ids=lambda each: each.name)
def test_faulty_ones_are_found(subject: Subject, tmp_path: Path) -> None:
    _are_found(subject, tmp_path)


@pytest.mark.full
@pytest.mark.parametrize("subject", SUBJECTS, ids=lambda each: each.name)
def test_faulty_ones_of_every_subject_are_found(subject: Subject, tmp_path: Path) -> None:
    _are_found(subject, tmp_path)


def _are_found(subject: Subject, tmp_path: Path) -> None:
    tally = score(subject, SAMPLE[subject.kind], tmp_path, seed=20260504)
    assert tally.made.total() == SAMPLE[subject.kind]
    assert tally.share >= BOUND, "\n".join(tally.missed)


@pytest.mark.parametrize("subject", SOUND, ids=lambda each: each.name)
def test_sound_ones_raise_nothing(subject: Subject, tmp_path: Path) -> None:
    assert not findings(Mutant("", "", frozenset(), subject), tmp_path)


def test_a_fault_that_no_rule_names_counts_as_missed(tmp_path: Path) -> None:
    """The score can fall: what is expected has to be among what is newly found."""
    subject = SOUND[0]
    from mutant import mutants

    def harmless(one: Subject, rng: object) -> Mutant:
        one.protocol["title"] = f"Another title {id(one)}"
        return Mutant("harmless", "", frozenset({"one-block"}), one)

    made = list(mutants(subject, {"harmless": harmless}, 3, seed=1))
    assert len(made) == 3
    assert not any(findings(each, tmp_path) for each in made)
