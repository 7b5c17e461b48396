"""Edits to text: splices, parts and start-up steps in the file's own layout, parameters, the file written back."""
