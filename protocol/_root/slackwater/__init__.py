"""slackwater: a statistical validator for on-water performance trials of boats."""

__version__ = "0.1.0"
