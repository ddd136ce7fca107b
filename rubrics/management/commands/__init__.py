"""One command a file: read the options, call, print."""
