"""Curves as SVG: scales, charts, and what the charts of a rig show."""
