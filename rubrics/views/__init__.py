"""Pages of the judgement."""
