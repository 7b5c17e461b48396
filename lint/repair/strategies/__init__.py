"""Ways to mend a finding, priced and not proved yet: lines made anew, shares, promises, parts out, the start-up."""
