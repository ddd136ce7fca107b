"""Planning: wished sizes and a clay in, sizes to make, patterns and formulas out. No Django."""
