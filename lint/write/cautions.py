"""The usual cautions for real machinery, for whatever prints a commissioning list or a report."""

from lineshaft.write.page import Page

CAUTIONS = (
    "Caution: isolate, lock, verify before work (29 CFR 1910.147); guard all that turns (29 CFR 1910.219, ISO 14120);\n"
    "assess the risk (ISO 12100); take ratings from the maker; local codes and licensed practice come before this.\n"
)
"""Two lines; only a policy turns them off."""


def cautions_on(page: Page) -> str:
    """The same in lines that fit."""
    return page.paragraph(CAUTIONS.replace("\n", " ").strip())
