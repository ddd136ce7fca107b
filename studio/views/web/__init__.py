"""The first page, and what pages share."""
