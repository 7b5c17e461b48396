"""A finding's fingerprint: the same while its rule, file and part are, wherever the lines move."""

from collections import Counter
from collections.abc import Iterable

from lineshaft.check.finding import Finding
from lineshaft.schema.text.span import pointer


def with_fingerprints(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings with fingerprints; several of one rule at one place are told apart by their order."""
    import hashlib  # not on the path of a clean run

    seen: Counter[str] = Counter()
    marked = []
    for finding in findings:
        # List positions move when a line is added above; names do not.
        route = pointer(step for step in finding.route if isinstance(step, str))
        identity = "\0".join((finding.rule, finding.file, finding.part or "", route))
        digest = hashlib.sha256(f"{identity}\0{seen[identity]}".encode()).hexdigest()[:32]
        seen[identity] += 1
        marked.append(finding._replace(fingerprint=digest))
    return tuple(marked)
