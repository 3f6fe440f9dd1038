"""Figures, names and characters as text, JSON, and what an answer can do: for whatever writes them."""
