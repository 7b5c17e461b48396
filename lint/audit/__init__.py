"""What was read on the standing build against what is computed, and the fewest deviations that explain it."""
