"""Reading what was measured."""
