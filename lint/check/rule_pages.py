"""Where a rule's page is published: the address that writers, `explain` and editors lead to."""

from collections.abc import Iterable

from lineshaft import documentation
from lineshaft.check.registry import own_ids


def rule_address(rule: str) -> str:
    """The address of a rule's page; empty where no base address is set, and for a rule that is not our own."""
    if not documentation.ADDRESS or rule not in own_ids():
        return ""
    return f"{documentation.ADDRESS}/rules/{rule}.html"


def rule_addresses(rules: Iterable[str]) -> dict[str, str]:
    """The address of each rule's page, by rule; of those that have one."""
    found = {rule: rule_address(rule) for rule in rules} if documentation.ADDRESS else {}
    return {rule: address for rule, address in found.items() if address}
