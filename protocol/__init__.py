"""What is declared: protocols, trials, claims, and the rules they are held against."""
