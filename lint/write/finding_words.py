"""A finding in words: sentence and place, why it does not count, where a blueprint shows it, what a repair costs."""

from typing import TYPE_CHECKING, Final

from lineshaft.check.finding import Text
from lineshaft.schema.text.span import Span
from lineshaft.write.escape import clean
from lineshaft.write.shown_units import figures

if TYPE_CHECKING:  # a clean check has none
    from lineshaft.check.judged_finding import JudgedFinding

FORM: Final = frozenset({"not-yaml", "not-schema", "bad-quantity", "unknown-reference", "not-offered"})
"""The rules whose findings are about what is written, not about what the part does."""
_NO_VERBS: Final = frozenset({"its", "this", "as", "parts", "gears"})


def level_shown(finding: "JudgedFinding") -> str:
    """The level of a finding that counts; `waived`, or `snag` with its level, of one that does not."""
    if finding.waived is not None:
        return "waived"
    return f"snag, {finding.level}" if finding.snag is not None else finding.level


def accepted_words(finding: "JudgedFinding") -> str:
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


def uses_words(finding: "JudgedFinding") -> str:
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


def _name(use: "JudgedFinding", known: str) -> str:
    if use.placement is None:
        return "judged by itself"
    file, part = use.home
    accepted = " (waived)" if use.waived is not None else " (a snag)" if use.snag is not None else ""
    return f"{part}{accepted}" if file == known else f"{part} in {file}{accepted}"


def headline(finding: "JudgedFinding") -> Text:
    """What is wrong as a sentence: `step carries 2.25 kN·m, may carry 1.2 kN·m`; a rule may leave out the subject."""
    message, part = finding.message, finding.part
    first = message[0].split(" ", 1)[0] if message and isinstance(message[0], str) else ""
    if finding.rule in FORM or finding.rule == "internal-error" or finding.alike:
        return message
    if first in ("is", "was", "first") or (first.endswith("s") and first not in _NO_VERBS and first != part):
        return (f"{part} " if part else "the rig ", *message)
    named = part is None or first.rstrip(":").partition(".")[0] == part
    return message if named else (f"{part}: ", *message)


def place_words(file: str, span: Span) -> str:
    """A place that a terminal opens by a click: `file:line:column`."""
    return f"{clean(file)}:{span.start.line}:{span.start.column}"


def costs(worth: float) -> str:
    """What a repair adds to the bill in words: `cost 7 more`, `cost 0.7 less`, `cost the same`."""
    if not worth:
        return "cost the same"
    return f"cost {figures(abs(worth))} {'more' if worth > 0 else 'less'}"
