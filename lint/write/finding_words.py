"""Words about a finding: why it does not count, and where a blueprint's fault shows."""

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


_NAMED = 4  # further uses that are named; the rest is counted


def uses_words(finding: Finding) -> str:
    """For example `in a.rig.yaml as leg-b/stock, the worst of 3; also leg-a/stock`; empty outside blueprints."""
    if finding.placement is None and not finding.uses:
        return ""
    file, part = finding.home
    head = f"in {file} as {part}" if finding.placement is not None else "judged by itself"
    if len(finding.uses) < 2:
        return head
    others = [_name(use, file) for use in finding.uses if use.home != finding.home]
    more = f" and {len(others) - _NAMED} more" if len(others) > _NAMED else ""
    return f"{head}, the worst of {len(finding.uses)}; also {', '.join(others[:_NAMED])}{more}"


def _name(use: Finding, known: str) -> str:
    if use.placement is None:
        return "judged by itself"
    file, part = use.home
    accepted = " (waived)" if use.waived is not None else " (a snag)" if use.snag is not None else ""
    return f"{part}{accepted}" if file == known else f"{part} in {file}{accepted}"
