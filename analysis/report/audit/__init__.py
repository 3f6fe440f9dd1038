"""An audit as text, page and table."""
