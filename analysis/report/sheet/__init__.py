"""The sheet to take aboard: page, text, data."""
