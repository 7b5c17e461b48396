"""Whether what a finding is about is served as well, where its rule names another part: a finding may go, and not that.

A stage behind a splitter ends what is said of the splitter; the machine below may need more than that stage gives.
"""

from collections.abc import Iterable

from lineshaft.check.finding import Finding
from lineshaft.check.offer import SearchFor
from lineshaft.check.rule import Rule
from lineshaft.repair.proof.effect import is_starved
from lineshaft.solve.limits import over, speed_carried
from lineshaft.solve.solved_rig import SolvedRig


def wanted_elsewhere(rule: Rule | None, rig: SolvedRig, finding: Finding) -> tuple[SearchFor, ...]:
    """What a finding's rule wants of other parts than the finding's own."""
    if rule is None or rule.repairs is None:
        return ()
    try:
        offers = tuple(rule.repairs(rig, finding))
    except Exception:  # a plugin may raise anything; who asks it for repairs says so
        return ()
    return tuple(offer for offer in offers if isinstance(offer, SearchFor) and finding.part not in offer.parts)


def is_served(wanted: Iterable[SearchFor], after: SolvedRig) -> bool:
    """Whether the parts that were to be served, or slowed, are so ``after`` a repair."""
    return all(_is_right(after, offer.way, name) for offer in wanted for name in offer.parts)


def _is_right(rig: SolvedRig, way: str, name: str) -> bool:
    number = rig.rig.index.get(name)
    if number is None or not rig.flows.solved[number]:
        return True
    if way == "serve-machine":
        return not is_starved(rig, number)
    limit = rig.parts[number].speed_limit
    return way != "hold-speed" or limit is None or not over(speed_carried(rig.flows, number), limit)
