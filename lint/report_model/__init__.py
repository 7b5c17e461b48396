"""A solved rig to the plain data that drawings and reports show."""
