"""Schematics to SVG: sizes of text, places of boxes and lines, symbols, the document."""
