"""Pages as people with different rights meet them."""
