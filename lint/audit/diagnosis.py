"""A rig and its readings to the explanations: each number compared, the fewest deviations that explain all, ranked."""

from collections.abc import Iterator, Sequence
from itertools import islice, product
from math import sqrt
from typing import NamedTuple

from lineshaft.audit.candidate import ordinariness, together
from lineshaft.audit.comparison import Measured, computed, disagree, measured
from lineshaft.audit.deviations import Deviation, renumbered
from lineshaft.audit.rounding import rounded
from lineshaft.audit.search import Outcome, deviations_of, explain
from lineshaft.audit.survey import Survey, surveys
from lineshaft.solve.solved_rig import SolvedRig

MOST_KEPT = 200
"""Explanations that are kept of all, the first ones."""
_MISREAD = 0.5


class Compared(NamedTuple):
    """A number that was read, the computed value (none where the place is not solved), and whether it disagrees."""

    measured: Measured
    value: float | None
    wrong: bool


class Explanation(NamedTuple):
    """Deviations that together explain every number; ``misfit`` is the root mean square of errors in tolerances.

    ``less_likely`` counts how far its members stand behind others of the same kind and effect: a part that has a
    `couple` step is more likely not to be coupled, a stage that wants lubricant more likely to have lost torque.
    ``common`` are the causes among them that several parts have in common, each as the places of its deviations.
    """

    deviations: tuple[Deviation, ...]
    misfit: float
    less_likely: int = 0
    common: tuple[tuple[int, ...], ...] = ()

    @property
    def causes(self) -> int:
        """How many things are amiss: what several parts have in common is one."""
        return len(self.deviations) - sum(len(places) - 1 for places in self.common)

    @property
    def weight(self) -> float:
        """What it counts as: its causes; a wrong reading comes between one deviation of the build and two."""
        return self.causes + sum(_MISREAD for d in self.deviations if d.kind == "wrong-reading")

    @property
    def rank(self) -> tuple[object, ...]:
        """Fewer first, then more ordinary, closer to what was read, more likely among their like, as in the file.

        Of as many a cause that parts have in common comes behind one that a single part has.
        """
        parts = tuple((d.part, d.kind) for d in self.deviations)
        order = self.weight, len(self.common), ordinariness(self.deviations), round(self.misfit, 6), self.less_likely
        return *order, parts


class Diagnosis(NamedTuple):
    """What the readings say. ``explanations`` are ranked, ``more`` were left out after them.

    ``unexplained`` are the numbers read (places in ``compared``) of trains for which no explanation was found;
    ``complete`` is false where a search ended at its bound before it had looked at everything.
    """

    compared: tuple[Compared, ...]
    explanations: tuple[Explanation, ...]
    more: int
    unexplained: tuple[int, ...]
    complete: bool

    @property
    def wrong(self) -> bool:
        """Whether a reading disagrees."""
        return any(one.wrong for one in self.compared)


def diagnose(rig: SolvedRig) -> Diagnosis:
    """Compare the readings of a rig with its computed values, and explain what disagrees."""
    numbers = tuple(measured(rig.rig.readings))
    compared = tuple(_compared(rig, number) for number in numbers)
    ranked: list[list[Explanation]] = []
    unexplained: set[tuple[int, str]] = set()
    complete = True
    for survey in surveys(rig.train, numbers):
        outcome = explain(survey)
        complete &= outcome.complete
        if outcome.explained or outcome.misread is not None:
            ranked.append(sorted(_expanded(survey, outcome), key=lambda e: e.rank))
        else:
            bits = survey.wrong(survey.expected)
            unexplained |= {(m.reading, m.quantity) for k, m in enumerate(survey.measured) if bits >> k & 1}
    total = 1
    for explanations in ranked:
        total *= len(explanations)
    kept = _of_all_trains(ranked) if ranked else ()
    left = tuple(k for k, number in enumerate(numbers) if (number.reading, number.quantity) in unexplained)
    return Diagnosis(compared, kept, total - len(kept) if ranked else 0, left, complete)


def _compared(rig: SolvedRig, number: Measured) -> Compared:
    value = computed(rig.parts, rig.flows, number.part, number.outlet, number.quantity)
    return Compared(number, value, value is not None and disagree(number.read, value, number.tolerance))


def _expanded(survey: Survey, outcome: Outcome) -> Iterator[Explanation]:
    """Each explanation with one member of each candidate, in the rig's own numbers."""
    for explained in outcome.explained:
        fitted, misfit = rounded(survey, explained)
        for ways, behind in islice(together(explained.chosen), MOST_KEPT):
            deviations = deviations_of(survey, explained.chosen, ways, fitted)
            ordered = sorted(renumbered(deviations, survey.numbers), key=lambda d: (d.part, d.kind))
            shared = (c.members[0] for c in explained.chosen if c.common)
            common = tuple(_places(ordered, tuple(renumbered(members, survey.numbers))) for members in shared)
            yield Explanation(tuple(ordered), misfit, behind, common)
    if outcome.misread is not None:
        yield Explanation(tuple(renumbered((outcome.misread.deviation,), survey.numbers)), outcome.misread.misfit)


def _places(ordered: Sequence[Deviation], members: Sequence[Deviation]) -> tuple[int, ...]:
    """Where the deviations of a common cause stand in a row."""
    wanted = {(one.part, one.kind) for one in members}
    return tuple(k for k, one in enumerate(ordered) if (one.part, one.kind) in wanted)


def _of_all_trains(ranked: Sequence[Sequence[Explanation]]) -> tuple[Explanation, ...]:
    """One explanation of each train, in every combination of the first ones."""
    each = int(MOST_KEPT ** (1 / len(ranked)))
    joined = [_joined(parts) for parts in product(*(explanations[:each] for explanations in ranked))]
    return tuple(sorted(joined, key=lambda e: e.rank)[:MOST_KEPT])


def _joined(explanations: Sequence[Explanation]) -> Explanation:
    deviations = sorted((d for e in explanations for d in e.deviations), key=lambda d: (d.part, d.kind))
    misfit = sqrt(sum(e.misfit**2 for e in explanations) / len(explanations))
    common = [_places(deviations, [e.deviations[k] for k in row]) for e in explanations for row in e.common]
    return Explanation(tuple(deviations), misfit, sum(e.less_likely for e in explanations), tuple(common))
