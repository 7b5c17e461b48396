"""Validated model to solved rig."""
