"""The rules on the runs of a trial, one a file."""
