"""What the files say, as frozen types in SI values."""
