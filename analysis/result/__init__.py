"""The result of a trial as data. It knows no renderer."""
