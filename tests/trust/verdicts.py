"""What this version says of a fixed rig, as a row of short words that a record can hold and a change be seen by.

A word is a finding: the place of its part in the rig's plan, a rule by its mark, a level by its first letter, and a
digest of its values to nine digits. Nothing of its text is in it, so that wording may change.
"""

import base64
import hashlib
from datetime import date
from pathlib import Path
from typing import NamedTuple

from trust.fixed_rigs import FixedRig

from lineshaft.check.checker import Checker
from lineshaft.check.finding import Finding
from lineshaft.check.rulebook import Rulebook

DAY = date(2026, 11, 25)
_ROOT = Path(Path.cwd().anchor, "lineshaft.fixed-rigs")  # no such folder: all files are given


class Word(NamedTuple):
    """A finding as a record tells it; ``part`` is empty for what is about a file."""

    part: str
    rule: str
    level: str
    values: str


def verdict(rig: FixedRig, book: Rulebook) -> tuple[Word, ...]:
    """What is found in the rig, sorted; by all rules of ``book`` and the rig's own policy."""
    texts = {_ROOT / name: text.encode("utf-8") for name, text in rig.files.items()}
    policy = None if rig.policy is None else _ROOT / rig.policy
    checker = Checker(_ROOT, book, policy_file=policy, day=DAY, texts=texts)
    report = checker.report(_ROOT / rig.rig, "rig")
    return tuple(sorted(_word(finding) for finding in report.findings))


def _word(finding: Finding) -> Word:
    level = "waived" if finding.waived else finding.level
    return Word(finding.home[1] or "", finding.rule, level, values_digest(finding))


def values_digest(finding: Finding) -> str:
    """Two signs, so twelve bits, of the names, units and values of a finding, numbers to nine digits."""
    told = ";".join(f"{name}={_digits(measure.value)} {measure.unit}" for name, measure in finding.values)
    return base64.urlsafe_b64encode(hashlib.sha256(told.encode()).digest())[:2].decode("ascii")


def _digits(value: float | str | tuple[float, ...]) -> str:
    if isinstance(value, tuple):
        return ",".join(_digits(each) for each in value)
    return value if isinstance(value, str) else f"{value:.9g}"
