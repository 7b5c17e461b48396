"""Trees to the types of the model, with the faults found on the way."""
