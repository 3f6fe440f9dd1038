"""Runs to double runs to a value a session: the current taken out."""
