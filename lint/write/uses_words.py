"""Words for where a blueprint's fault shows, for writers that tell it once."""

from lineshaft.check.finding import Finding

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
