"""What a rule said as its finding: under the rule's id, at the level that holds; its crash is a finding as well."""

from lineshaft.check.finding import Cause, Finding, Measure, Reported, SharedCause, report, top_of
from lineshaft.check.level import LEVELS
from lineshaft.check.registry import CRASHED
from lineshaft.check.rule import Rule
from lineshaft.schema.text.span import Span
from lineshaft.solve.solved_rig import SolvedRig


def at_level_of_kind(said: Reported, rule: Rule, rig: SolvedRig) -> Reported:
    """What a rule said, at the level that a policy gives it at parts of this kind."""
    number = rig.rig.index.get(said.part or "")
    level = None if number is None else dict(rule.kind_levels).get(rig.parts[number].item.kind)
    return said if level is None else said._replace(level=level)


def stamped(said: object, rule: Rule) -> Finding:
    """What a rule said, under the rule's id; a level that a policy gave wins over its own, and that over the rule's.

    Raises TypeError or ValueError where it is not what ``report`` makes of words, measures, causes and a place.
    """
    if not isinstance(said, Reported):
        raise TypeError(f"{rule.id} gave something that `report` did not make")
    if said.level is not None and said.level not in LEVELS:
        raise ValueError(f"{rule.id} gave no known level")
    if not all(isinstance(piece, str | Measure) for piece in (*said.message, *said.suggestion)):
        raise TypeError(f"{rule.id} gave a message that is not words and measures")
    if not all(isinstance(name, str) and isinstance(value, Measure) for name, value in said.values):
        raise TypeError(f"{rule.id} gave values that are not named measures")
    if not isinstance(said.place[1], Span) or not isinstance(said.part, str | None):
        raise TypeError(f"{rule.id} gave no place, or a part that is no name")
    kinds = set(map(type, said.because))  # of a long line there are thousands
    if not all(issubclass(kind, Cause) for kind in kinds) or not isinstance(said.shared, SharedCause | None):
        raise TypeError(f"{rule.id} gave a cause that is none")
    found = (said._replace(level=None) if rule.level_wins else said).finding(rule.id, rule.level)
    if not said.uses:
        return found
    from lineshaft.check.uses import in_place  # only where a rig places a blueprint

    return in_place(found, said.uses)


def crashed(file: str, rule: str, reason: str) -> Finding:
    """That a rule could not judge a file, and why in a few words."""
    message = (f"the rule {rule} {reason}; the other rules went on",)
    return report(top_of(file), None, message).finding(CRASHED, "error")
