"""The language server: what is computed of a rig, shown in an editor while somebody writes it."""
