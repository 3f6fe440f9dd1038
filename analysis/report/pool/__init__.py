"""A pool as text, as a page and as pictures."""
