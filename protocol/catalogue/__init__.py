"""The catalogue: what is measured, what is derived from it, what is noted of a day."""
