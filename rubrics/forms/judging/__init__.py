"""Forms of judging."""
