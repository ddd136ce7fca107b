"""Pages of critiques: running one, reading, the gate, what came, the day, anchor cups."""
