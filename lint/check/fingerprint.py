"""What a finding is about, however lines move: where it stands (its fingerprint), and in which use it was found."""

from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

from lineshaft.check.finding import Finding
from lineshaft.check.judged_finding import JudgedFinding, Waived, judged
from lineshaft.schema.text.span import pointer


class Subject(NamedTuple):
    """The judged file, the rule, the part by its name there, and the names on the way to a setting of the part."""

    file: str
    rule: str
    part: str | None
    at: str


def subject_of(finding: Finding, *, anywhere: bool = False) -> Subject:
    """What a finding is about in the file that was judged; each use of a blueprint has its own.

    With ``anywhere`` it is the same one at whatever step or setting of its part it shows.
    """
    names = "/".join(_names(finding))
    file, part = finding.home
    local = (finding.part or "").rpartition("/")[2]
    at_part = names == f"parts/{local}" or (anywhere and finding.part is not None)
    return Subject(file, finding.rule, part, "" if at_part else names)


def _names(finding: Finding) -> list[str]:
    # List positions move when a line is added above; names do not.
    return [step for step in finding.route if isinstance(step, str)]


def with_fingerprints(found: Iterable[tuple[Finding, Waived | None]]) -> tuple[JudgedFinding, ...]:
    """Findings, each with what waives it, as judged: with fingerprints, those of all uses of a blueprint with one.

    Several of one rule at one place in one use are told apart by their order.
    """
    import hashlib  # not on the path of a clean run

    seen: Counter[tuple[str, str | None]] = Counter()
    marked = []
    for finding, waived in found:
        identity = "\0".join((finding.rule, finding.file, finding.part or "", pointer(_names(finding))))
        use = (identity, finding.home[1])
        digest = hashlib.sha256(f"{identity}\0{seen[use]}".encode()).hexdigest()[:32]
        seen[use] += 1
        marked.append(judged(finding, digest, waived))
    return tuple(marked)
