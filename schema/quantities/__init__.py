"""Scalars to SI values: units, ratios as exact tooth counts, shaft sections."""
