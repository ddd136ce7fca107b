"""Pages of judging."""
