"""A noise budget as text, as data and as the block a protocol takes in."""
