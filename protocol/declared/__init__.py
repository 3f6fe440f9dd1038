"""Protocols and trials as declared: the models, what their parts have to agree on."""
