"""Fields that several forms share."""
