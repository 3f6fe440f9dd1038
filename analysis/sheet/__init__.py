"""The sheet to take aboard: on paper, as a table to fill in, as text and as data."""
