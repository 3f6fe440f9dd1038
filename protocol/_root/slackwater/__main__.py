"""`python -m slackwater`: the same as the command `slackwater`."""

from __future__ import annotations

from slackwater.analysis.cli import command

if __name__ == "__main__":
    command()
