"""Rules on a protocol that need statistics, or the names of all rules, one a file."""
