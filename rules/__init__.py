"""The rules, one a file; each is found through its entry point."""
