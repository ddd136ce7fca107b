"""Pages of clays, projects, plans and pieces."""
