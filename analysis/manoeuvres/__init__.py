"""Tries of manoeuvres to session values: means over tries, then over directions."""
