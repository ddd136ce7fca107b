"""The invented class, built through the same functions as real records."""
