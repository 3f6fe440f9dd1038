"""What is read off a whole sweep: equal speed, range, best economy, planing, corrections."""
