"""The one engine of lines: the cheapest ways to make a segment hold and give what is wanted at its end."""
