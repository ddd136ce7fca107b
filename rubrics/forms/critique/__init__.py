"""Forms of critiques."""
