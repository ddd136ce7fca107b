"""Planning, its patterns and its clays, against numbers from outside."""
