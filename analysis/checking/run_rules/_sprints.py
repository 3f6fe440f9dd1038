"""The trial of sprints that the rules on manoeuvres are shown on, and its table of tries."""

from __future__ import annotations


def sprint(tries: int) -> str:
    """What its protocol declares, with so many tries each way."""
    return (
        "manoeuvres: {sprint: {start: at rest, end: on the plane, directions: reciprocal, "
        f"tries: {tries}, current: averaged, values: {{time_to_plane: {{}}}}}}}}"
    )


def sprints(*sessions: str) -> str:
    """The rows of its table; of each session, in turn, who steered, and every way with its time.

    So "A out 5.1 back 5.3" is one try each way, both by helmsman A.
    """
    rows = []
    for session, told in enumerate(sessions, 1):
        helmsman, *made = told.split()
        ways = made[::2]
        for k, (way, time) in enumerate(zip(ways, made[1::2], strict=True)):
            number = ways[: k + 1].count(way)
            rows.append(f"S{session},sprint,{way},{number},{time},{helmsman}")
    return "\n".join(rows)
