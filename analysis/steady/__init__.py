"""Steady runs found in channels, matched to what was planned, and paired by the water they cover."""
