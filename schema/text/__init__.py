"""Bytes to text, places and located trees; the only opener of files; what can be wrong with a file."""
