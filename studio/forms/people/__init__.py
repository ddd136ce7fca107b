"""Forms of people."""
