"""Pages of evidence without a mark."""
