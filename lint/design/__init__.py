"""From prime movers and machines to whole rigs that hold: what is assigned, geared, divided, gathered, started."""
