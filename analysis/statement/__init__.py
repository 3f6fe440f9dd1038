"""What may be printed of a trial: sentences, a table, a picture, and the claims that they come to."""
