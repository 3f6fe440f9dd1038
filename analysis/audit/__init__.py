"""A published claim held against itself, against what noise would do, and against the data."""
