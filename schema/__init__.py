"""Text to located tree to validated model; imports nothing else of lineshaft."""
