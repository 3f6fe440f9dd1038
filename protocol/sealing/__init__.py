"""Seals: what was declared beforehand, and what that proves."""
