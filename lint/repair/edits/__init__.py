"""edits"""
