"""Findings to plans: what may mend each, the budget of the search, all findings fixed together."""
