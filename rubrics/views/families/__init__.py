"""Pages for families, the class summary and progress."""
