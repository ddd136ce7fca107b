"""Pages of work on soft clay."""
