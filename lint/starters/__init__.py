"""First files of each kind: as they stand in `files/`, fitted to the catalogue at hand, or made from a spreadsheet."""
