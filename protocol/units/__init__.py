"""Units, and quantities written with them."""
