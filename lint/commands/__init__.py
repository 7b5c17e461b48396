"""One command a file; each returns an exit code."""
