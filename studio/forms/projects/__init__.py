"""Forms of clays, projects, plans and pieces."""
