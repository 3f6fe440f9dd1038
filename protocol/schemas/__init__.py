"""JSON Schemas, generated from the models."""
