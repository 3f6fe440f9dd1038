"""A plan as text, page and picture."""
