"""From session values to verdicts: what was declared beforehand, each comparison judged, in a word."""
