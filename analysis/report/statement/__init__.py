"""The statement as Markdown, a page, cells, a document for a word processor, and its picture."""
