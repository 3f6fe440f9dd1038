"""Rules applied to files and runs, and what they say as text, JSON and SARIF."""
