"""Print how many faulty protocols and trials `check` finds with the right rule named.

    python tests/mutation/run.py [--count 320] [--seed 1] [--missed]

From each shipped protocol and each example trial that many faulty ones are made, each with one
fault; 0 when at least 95 % are found in every one of them.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from score import score, subjects

BOUND = 0.95


def main() -> int:
    """Make them, look, print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=320)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--missed", action="store_true", help="tell what was missed")
    given = parser.parse_args()
    scores = []
    with tempfile.TemporaryDirectory() as folder:
        for subject in subjects():
            scores.append(score(subject, given.count, Path(folder), given.seed))
            print(f"looked at {subject.name}", file=sys.stderr)
    made: Counter[str] = sum((each.made for each in scores), Counter())
    found: Counter[str] = sum((each.found for each in scores), Counter())
    print(f"{'made from':<34}{'faulty':>8}{'found':>8}{'share':>9}")
    for each in scores:
        row = (each.subject, each.made.total(), each.found.total(), each.share)
        print(f"{row[0]:<34}{row[1]:>8}{row[2]:>8}{100 * row[3]:>8.1f} %")
    print(f"\n{'fault':<34}{'faulty':>8}{'found':>8}{'share':>9}")
    for fault, count in sorted(made.items()):
        share = 100 * found[fault] / count
        print(f"{fault:<34}{count:>8}{found[fault]:>8}{share:>8.1f} %")
    if given.missed:
        for each in scores:
            for line in each.missed:
                print(f"\nmissed in {each.subject}: {line}")
    return int(any(each.share < BOUND for each in scores))


if __name__ == "__main__":
    sys.exit(main())
