"""Two versions of a protocol held against each other."""
