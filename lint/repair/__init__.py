"""Findings to proved repairs."""
