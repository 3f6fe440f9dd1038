"""An archive as text and as a page."""
