"""Where a rule's page is published: the address that writers, `explain` and editors lead to."""

from lineshaft import documentation
from lineshaft.check.registry import own_ids


def rule_address(rule: str) -> str:
    """The address of a rule's page; empty where no base address is set, and for a rule that is not our own."""
    if not documentation.ADDRESS or rule not in own_ids():
        return ""
    return f"{documentation.ADDRESS}/rules/{rule}.html"
