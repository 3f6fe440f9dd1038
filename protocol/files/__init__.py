"""Reading YAML strictly: positions, scalars, and faults in plain words."""
