"""Findings inside blueprints: told in the names of the blueprint's file, with the lines that put it in place.

A judged file keeps one for each use, and for a part that stands in a blueprint within a blueprint one for each way in.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from lineshaft.check.finding import Cause, Finding, Placement, Text
from lineshaft.schema.blueprint.placing import without_prefix
from lineshaft.schema.text.use import Use
from lineshaft.solve.solved_rig import SolvedRig


def in_place(finding: Finding, uses: Sequence[Use]) -> Finding:
    """A finding in the names of a blueprint's file, with the lines that put the blueprint in place, outermost first."""
    lines = tuple(map(_line, uses))
    steps = [str(use.route[1]) for use in uses]
    whole = "/".join([*steps, finding.part] if finding.part is not None else steps)
    return replace(
        finding, because=(*finding.because, *lines), placement=Placement(lines[0].file, whole, lines)
    )


def inside_blueprints(rig: SolvedRig, findings: Iterable[Finding]) -> list[Finding]:
    """A rig's findings, those in its blueprints' files in these files' names, one for each use."""
    return [_in_own_names(rig, finding) for finding in findings]


def _line(use: Use) -> Cause:
    source = use.tree.source
    return Cause(source.shown, use.tree.key_span(use.route), str(use.route[1]), ("puts the blueprint in place",))


def _in_own_names(rig: SolvedRig, finding: Finding) -> Finding:
    """A finding in a blueprint's file: its part without the names of the lines that place it, and these lines."""
    if finding.file == rig.file or finding.part is None or finding.placement is not None:
        return finding
    number = rig.rig.index.get(finding.part)
    uses = rig.parts[number].uses if number is not None else rig.rig.placed.names.get(finding.part, ())
    # What a blueprint says of a part of one inside it stands in the outer one's file.
    written = [use.tree.source.shown for use in uses]
    uses = uses[: written.index(finding.file)] if finding.file in written else uses
    if not uses:
        return finding
    prefix = "".join(f"{use.route[1]}/" for use in uses)
    own = replace(
        finding,
        part=finding.part.removeprefix(prefix),
        message=_without(finding.message, prefix),
        suggestion=_without(finding.suggestion, prefix),
    )
    return in_place(own, uses)


def _without(text: Text, prefix: str) -> Text:
    return tuple(without_prefix(piece, prefix) if isinstance(piece, str) else piece for piece in text)
