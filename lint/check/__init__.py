"""Solved rig to findings, one file to its report, recorded snags against them."""
