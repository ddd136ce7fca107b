"""Forms of files out."""
