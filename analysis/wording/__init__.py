"""Figures, names and characters as text, for whatever writes them."""
