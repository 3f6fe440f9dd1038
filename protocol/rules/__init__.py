"""The rules of good method, one file a rule."""
