"""Forms of family pages."""
