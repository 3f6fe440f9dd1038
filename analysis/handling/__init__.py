"""From channels to what a manoeuvre gave: turning circles, stops, times to a speed, steering on a straight."""
