"""Pages for families, print runs, languages, class summary and progress."""
