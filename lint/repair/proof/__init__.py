"""The proof of a repair: the edited rig, or the part of it that the edits touch, solved and judged again."""
