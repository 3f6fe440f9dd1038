"""Session values of every quantity, measured and derived."""
