"""The report on a trial: terminal, page, pictures."""
