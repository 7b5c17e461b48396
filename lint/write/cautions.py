"""The usual cautions for real machinery, in two lines, for whatever prints a commissioning list or a report."""

CAUTIONS = (
    "Caution: isolate, lock, verify before work (29 CFR 1910.147); guard all that turns (29 CFR 1910.219, ISO 14120);\n"
    "assess the risk (ISO 12100); take ratings from the maker; local codes and licensed practice come before this.\n"
)
"""Two lines; only a policy turns them off."""
