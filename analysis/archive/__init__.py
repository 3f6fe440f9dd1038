"""Trials below a folder, analysed where they are new or changed, kept in one store."""
