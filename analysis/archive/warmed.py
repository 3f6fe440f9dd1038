"""Loaded once by the process that workers are forked from, so that each of them begins warm."""

from slackwater.analysis.archive.kept import warm

warm()
