"""The records: reading input, writing whole steps, keeping photographs."""
