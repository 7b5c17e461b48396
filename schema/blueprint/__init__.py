"""Blueprints: parameters, one file's names where it stands, who drives whom across files, the flat rig."""
