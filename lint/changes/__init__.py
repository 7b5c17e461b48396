"""What changes: another edition of a catalogue, a rig before and after, a revision in git."""
