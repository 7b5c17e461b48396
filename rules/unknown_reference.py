"""Something is named that is not there.

What: an item, grade, part, outlet, lubricant or file that the rig, the catalogue or the repository lacks; a file
outside the repository's root; a step of the wrong kind for its part; a component that contains itself.

Why: the part that names it cannot be solved, and neither can what hangs below it.

How to repair: take the nearest name that the message offers, or add what is missing.

Source: none; the rig language.
"""

from collections.abc import Iterator

from lineshaft.judge.finding import Finding
from lineshaft.judge.reported_faults import faults_of
from lineshaft.judge.rule import Rule
from lineshaft.solve.solved_rig import SolvedRig


def check(rig: SolvedRig) -> Iterator[Finding]:
    """The faults of this rule that reading the file has shown."""
    yield from faults_of(rig, "unknown-reference")


RULE = Rule("unknown-reference", "error", check, local=True)
