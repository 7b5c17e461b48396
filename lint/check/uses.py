"""Findings inside blueprints: told in the names of the blueprint's file, once, with the lines that put it in place."""

from collections.abc import Iterable, Iterator, Sequence

from lineshaft.check.finding import Cause, Finding, Text, value_of
from lineshaft.schema.blueprint.placing import without_prefix
from lineshaft.schema.text.tree import Use
from lineshaft.solve.solved_rig import SolvedRig

MOST_SHOWN = 10
"""How many of the lines that put a blueprint in place a finding shows; the rest is counted."""
_RANK = {"note": 0, "warning": 1, "error": 2}


def with_uses(finding: Finding, uses: Iterable[Use]) -> Finding:
    """A finding that stands in a blueprint's file, with the lines that put the blueprint in place."""
    return _with_lines(finding, dict.fromkeys(_line(use) for use in uses))


def inside_blueprints(rig: SolvedRig, findings: Iterable[Finding]) -> list[Finding]:
    """A rig's findings, those in its blueprints' files each once, however often the blueprint is put in place."""
    found = _merged([_in_own_names(rig, finding) for finding in findings], by_fingerprint=False)
    # Those that count stand first, so that what is waived in one rig does not change their fingerprints.
    return sorted(found, key=lambda finding: finding.passes)


def each_once(findings: Sequence[Finding]) -> list[Finding]:
    """The findings of several rigs in one blueprint's file, each once; which are one is told by their fingerprints."""
    return list(_merged(findings, by_fingerprint=True))


def _line(use: Use) -> Cause:
    source = use.tree.source
    return Cause(source.shown, use.tree.key_span(use.route), str(use.route[1]), ("puts the blueprint in place",))


def _in_own_names(rig: SolvedRig, finding: Finding) -> Finding:
    """A finding in a blueprint's file: its part without the names of the lines that place it, and these lines."""
    if finding.file == rig.file or finding.part is None or finding.uses:
        return finding
    number = rig.rig.index.get(finding.part)
    uses = rig.parts[number].uses if number is not None else rig.rig.placed.names.get(finding.part, ())
    if not uses:
        return finding
    head, slash, local = finding.part.rpartition("/")
    prefix = head + slash
    own = finding._replace(
        part=local,
        message=_without(finding.message, prefix),
        suggestion=_without(finding.suggestion, prefix),
    )
    return with_uses(own, uses)


def _without(text: Text, prefix: str) -> Text:
    return tuple(without_prefix(piece, prefix) if isinstance(piece, str) else piece for piece in text)


def _merged(findings: Sequence[Finding], *, by_fingerprint: bool) -> Iterator[Finding]:
    """The findings in their order, those that are one at the place of the first of them."""
    groups: dict[object, list[Finding]] = {}
    again: dict[object, int] = {}
    for number, finding in enumerate(findings):
        key: object = number
        if by_fingerprint:
            key = (finding.fingerprint, finding.passes)
        elif finding.uses:
            own = (finding.rule, finding.file, finding.part, finding.span, finding.route)
            # Two of one rule at one place in one use stay two.
            seen = (own, finding.passes, finding.uses)
            again[seen] = again.get(seen, 0) + 1
            key = (own, finding.passes, again[seen])
        groups.setdefault(key, []).append(finding)
    for group in groups.values():
        yield group[0] if len(group) == 1 else _one_of(group)


def _one_of(group: list[Finding]) -> Finding:
    """The worst of several uses, or the blueprint's own verdict on itself, with the lines of all."""
    worst = max(group, key=lambda f: (not f.uses, _RANK[f.level], value_of(f, "times_limit") or 0.0))
    level = max((f.level for f in group), key=_RANK.__getitem__)
    lines = dict.fromkeys(line for finding in group for line in finding.uses)
    return _with_lines(worst._replace(level=level), lines)


def _with_lines(finding: Finding, lines: Iterable[Cause]) -> Finding:
    uses = tuple(lines)
    chain = finding.because[: len(finding.because) - len(_shown(finding.uses))]
    return finding._replace(because=(*chain, *_shown(uses)), uses=uses)


def _shown(lines: tuple[Cause, ...]) -> tuple[Cause, ...]:
    if len(lines) <= MOST_SHOWN:
        return lines
    last = lines[MOST_SHOWN]
    count = len(lines) - MOST_SHOWN
    more = f"puts it in place too, and so do {count - 1} more lines" if count > 1 else "puts it in place too"
    return (*lines[:MOST_SHOWN], last._replace(message=(more,)))
