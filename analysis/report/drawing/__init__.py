"""Pictures drawn straight into SVG: a dozen of them in the time that a plotting library takes to load."""
