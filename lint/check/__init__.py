"""Solved rig to findings."""
