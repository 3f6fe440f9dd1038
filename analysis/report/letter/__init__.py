"""The letter to the author of audited claims: as text, as a page, as a document."""
