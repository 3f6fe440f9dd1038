"""Inputs that know what they are: files of a sound trial, changed, and a command."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from pathlib import Path

import scored_trial
import tried_trial
from asked_commands import command, command_of_two
from mutations import BYTES, LINES, ROWS, flip, rows_of, truncate
from other_kinds import parquet, workbook
from sound_trial import CLAIMS, NOISE, another, protocol, runs, shape, trial

EXAMPLES = Path(__file__).parents[2] / "examples"


@dataclass(slots=True)
class Case:
    """Files in a folder, and the command that is run there."""

    files: dict[str, bytes] = field(default_factory=dict)
    words: list[str] = field(default_factory=list)
    changes: list[str] = field(default_factory=list)


def case_of(seed: int, number: int, *, two: bool = False) -> Case:
    """The input with this number, of two trials where that is asked for; the same every time."""
    dice = random.Random(f"{seed}/{number}")
    size = shape(dice)
    files = {
        "trial.yaml": trial(size),
        "protocol.yaml": protocol(size),
        "noise.yaml": NOISE,
        "claims.yaml": CLAIMS,
        "runs.csv": runs(size, dice),
    }
    if dice.random() < 0.04:
        folder = dice.choice(sorted(p for p in EXAMPLES.iterdir() if (p / "trial.yaml").exists()))
        files |= {
            path.name: path.read_text("utf-8")
            for path in folder.iterdir()
            if path.suffix in (".yaml", ".csv")
        }
    elif dice.random() < 0.12:
        files["protocol.yaml"] += scored_trial.PROTOCOL
        files["trial.yaml"] += scored_trial.TRIAL
        files["ratings.csv"] = scored_trial.scores(size.sessions, dice)
    elif dice.random() < 0.12:
        files["protocol.yaml"] += tried_trial.PROTOCOL
        files["trial.yaml"] += tried_trial.TRIAL
        files["tries.csv"] = tried_trial.tries(size.sessions, dice)
    case = Case(words=(command_of_two if two else command)(dice))
    if two:
        files["second.yaml"] = another(trial(size))
        files["second.csv"] = runs(size, dice)
    # Now and then nothing is changed, which is the dearest and teaches least.
    for _ in range(0 if dice.random() < 0.03 else dice.choice((1, 1, 2, 2, 3, 6))):
        tables = sorted(name for name in files if name.endswith(".csv"))
        name = dice.choice((tables[0], tables[-1], "trial.yaml", "protocol.yaml", *sorted(files)))
        change = dice.choice(ROWS if name.endswith(".csv") else LINES)
        case.changes.append(f"{name}: {change.__name__}")
        files[name] = change(files[name], dice)
    case.files = {name: text.encode("utf-8", "surrogatepass") for name, text in files.items()}
    if dice.random() < 0.05:
        name = dice.choice(sorted(case.files))
        change_bytes = dice.choice(BYTES)
        case.changes.append(f"{name}: {change_bytes.__name__}")
        case.files[name] = change_bytes(case.files[name], dice)
    if dice.random() < 0.04:
        _as_another_kind(case, dice)
    return case


def _as_another_kind(case: Case, dice: random.Random) -> None:
    """The runs as a workbook or a Parquet file, sometimes damaged."""
    rows = rows_of(case.files["runs.csv"].decode("utf-8", "replace"))
    kind = dice.choice(("xlsx", "parquet"))
    try:
        data = workbook(rows) if kind == "xlsx" else parquet(rows)
    except Exception:  # noqa: BLE001 - texts that such files cannot hold
        return
    if dice.random() < 0.4:
        data = dice.choice((flip, truncate))(data, dice)
    case.files[f"runs.{kind}"] = data
    case.files["trial.yaml"] = case.files["trial.yaml"].replace(
        b"runs.csv", f"runs.{kind}".encode()
    )
    case.changes.append(f"runs as {kind}")
