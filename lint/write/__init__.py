"""Findings and tables to bytes."""
