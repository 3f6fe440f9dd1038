"""The order of a trial: sessions on days, runs in sessions, and the limits of one run."""
