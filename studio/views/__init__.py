"""Pages of the records: read the request, call, answer."""
