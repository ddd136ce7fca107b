"""Forms of photographs."""
