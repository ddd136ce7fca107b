"""What the craft checks promise, without a database."""
