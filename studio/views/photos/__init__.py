"""Pages of photographs."""
