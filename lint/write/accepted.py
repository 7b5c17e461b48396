"""Words for why a finding does not count: the waiver that covers it and by how much, or the snag list that has it."""

from lineshaft.check.finding import Finding
from lineshaft.write.shown_units import figures


def level_shown(finding: Finding) -> str:
    """The level of a finding that counts; `waived`, or `snag` with its level, of one that does not."""
    if finding.waived is not None:
        return "waived"
    return f"snag, {finding.level}" if finding.snag is not None else finding.level


def accepted_words(finding: Finding) -> str:
    """For example `waived until 2027-03-31, up to 1.15, it is 1.125: proof-loaded in spring`; empty where it counts."""
    waived, snag = finding.waived, finding.snag
    if waived is not None:
        bound = "" if waived.up_to is None else f", up to {figures(waived.up_to)}"
        value = "" if waived.value is None else f", it is {figures(waived.value)}"
        return f"waived until {waived.until}{bound}{value}: {waived.reason}"
    if snag is None:
        return ""
    of = "" if snag.value is None else f" with {_words(snag.of)} of {figures(snag.value)}"
    return f"a snag that was recorded{of}"


def _words(name: str | None) -> str:
    return (name or "a value").replace("_", " ")
