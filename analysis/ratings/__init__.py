"""Ratings by people, from scores to session values: raters taken out, agreement and blinding told."""
