"""Ready-made protocols, shipped with the package."""
