"""How many sessions and repeats: noise of past trials, power, cost, looks part-way."""
