"""What many trials tell together: their outcomes, and statistics that begin where one trial ends."""
