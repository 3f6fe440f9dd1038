"""What the reader sees."""
