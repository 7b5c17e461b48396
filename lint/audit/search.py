"""The smallest sets of deviations that explain all readings of one train.

The search is Reiter's (*A Theory of Diagnosis from First Principles*, Artificial Intelligence 32, 1987): where a set
does not explain the readings it leaves a conflict, numbers of which one more deviation has to move, and only deviations
that can move one of them are added. As in de Kleer and Williams (*Diagnosing Multiple Faults*, the same volume) smaller
sets come first; here none is looked at that is larger than the smallest that explains.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import prod, sqrt
from typing import NamedTuple

from lineshaft.audit.candidate import PossibleDeviation
from lineshaft.audit.candidates import candidates, left_out
from lineshaft.audit.comparison import NO_READING
from lineshaft.audit.deviations import Deviation, parts_with
from lineshaft.audit.fitting import Clash, Fit, fit
from lineshaft.audit.least_squares import error_of
from lineshaft.audit.response import Response, response
from lineshaft.audit.survey import Survey, Values

MOST_DEVIATIONS = 3
MOST_SOLVES = 40_000
MOST_STEPS = 200_000_000
MOST_HELD = 4_000_000
MOST_FREE = 24
"""Bounds of the search in one train: how many deviations together; how many forward solves, and parts and numbers
worked out in them and in the fits; how many numbers are held at once; how many free values are fitted together."""

Chosen = tuple[int, ...]
"""Candidates by their index, ascending."""


class Explained(NamedTuple):
    """Candidates that explain every number, with their fit and the response it was found with."""

    chosen: tuple[PossibleDeviation, ...]
    fit: Fit
    response: Response


class Misread(NamedTuple):
    """A reading that is wrong itself, and the root mean square of the errors of what agrees, in tolerances."""

    deviation: Deviation
    misfit: float


class Outcome(NamedTuple):
    """The smallest explanations of one train; ``complete`` is false where a bound ended the search before its end."""

    explained: tuple[Explained, ...]
    misread: Misread | None
    complete: bool


def explain(survey: Survey) -> Outcome:
    """The smallest sets of candidates that explain every number of a survey, in no particular order.

    And the one reading that is wrong itself, where all else agrees: then no more than two deviations are looked for,
    since three are less likely than that.
    """
    misread = _misread(survey)
    search = _Search(survey, candidates(survey), left_out=left_out(survey))
    for size in range(1, (2 if misread is not None else MOST_DEVIATIONS) + 1):
        search.grow((), size)
        if search.found or search.spent:
            break
    return Outcome(tuple(search.found.values()), misread, not search.spent and not search.left_out)


def _misread(survey: Survey) -> Misread | None:
    """The reading that holds every number that disagrees, where another number agrees and so speaks for the file."""
    bits = survey.wrong(survey.expected)
    own = [(k, m) for k, m in enumerate(survey.measured) if m.reading != NO_READING]
    wrong = {m.reading for k, m in own if bits >> k & 1}
    if len(wrong) != 1 or not any(not bits >> k & 1 for k, _ in own):
        return None
    (reading,) = wrong
    place = next(m.part for _, m in own if m.reading == reading)
    errors = [error_of(m, survey.expected[k] or 0.0) ** 2 for k, m in own if not bits >> k & 1]
    return Misread(Deviation("wrong-reading", place, reading=reading), sqrt(sum(errors) / len(errors)))


def deviations_of(
    survey: Survey, chosen: Sequence[PossibleDeviation], ways: Sequence[tuple[Deviation, ...]], fitted: Sequence[float]
) -> tuple[Deviation, ...]:
    """One member of each candidate with its free values, as deviations of the survey's parts."""
    found: list[Deviation] = []
    at = 0
    for candidate, way in zip(chosen, ways, strict=True):
        own = tuple(fitted[at : at + len(candidate.spans)])
        at += len(candidate.spans)
        found += candidate.at(way, own, survey.train.parts)
    return tuple(found)


@dataclass(slots=True)
class _Search:
    """One search: what was looked at, with its fit or clash, and what explains."""

    survey: Survey
    pool: tuple[PossibleDeviation, ...]
    looked: dict[Chosen, Clash] = field(default_factory=dict)
    found: dict[Chosen, Explained] = field(default_factory=dict)
    grown: set[tuple[Chosen, int]] = field(default_factory=set)
    solves: int = 0
    steps: int = 0
    held: int = 0
    left_out: bool = False

    @property
    def spent(self) -> bool:
        """Whether a bound on what is worked out or held is reached."""
        return self.solves >= MOST_SOLVES or self.steps >= MOST_STEPS or self.held >= MOST_HELD

    def grow(self, chosen: Chosen, left: int) -> None:
        """Add ``left`` more deviations to a set, in every way that its conflicts allow."""
        if (chosen, left) in self.grown or self.spent:
            return
        self.grown.add((chosen, left))
        clash = self._clash(chosen)
        if clash is None:
            return
        conflict = self._conflict(clash)
        aspects = frozenset().union(*(self.pool[index].aspects for index in chosen))
        for index, candidate in enumerate(self.pool):
            if not candidate.mask & conflict or candidate.count > left or candidate.aspects & aspects:
                continue
            larger = tuple(sorted((*chosen, index)))
            if candidate.count < left:
                self.grow(larger, left - candidate.count)
            elif clash.left_by(candidate.mask):
                self._clash(larger)

    def _conflict(self, clash: Clash) -> int:
        """The numbers of which one has to be moved: the single one that fewest candidates move, where there is one."""
        if not clash.each:
            return clash.some
        singles = [1 << k for k in range(clash.each.bit_length()) if clash.each >> k & 1]
        return min(singles, key=lambda bit: sum(1 for candidate in self.pool if candidate.mask & bit))

    def _clash(self, chosen: Chosen) -> Clash | None:
        """Why a set does not explain the readings; none where it does, which is noted."""
        if chosen in self.found:
            return None
        known = self.looked.get(chosen)
        if known is not None:
            return known
        group = tuple(self.pool[index] for index in chosen)
        free, points = sum(len(c.spans) for c in group), prod(1 + len(c.spans) for c in group)
        numbers = points * len(self.survey.measured)
        if free > MOST_FREE or self.held + numbers > MOST_HELD:
            self.left_out = True
            return None
        answer = response(lambda values: self._solved(group, values), [c.spans for c in group], [c.most for c in group])
        result = fit(answer, self.survey.measured)
        self.steps += numbers * (1 + free) ** 2
        if isinstance(result, Fit):
            self.held += numbers
            self.found[chosen] = Explained(group, result, answer)
            return None
        self.held += 8 + len(result.ranges or ())
        self.looked[chosen] = result
        return result

    def _solved(self, group: tuple[PossibleDeviation, ...], values: tuple[float, ...]) -> Values:
        self.solves += 1
        self.steps += len(self.survey.train.parts) + len(self.survey.measured)
        # Their aspects differ, so the first members go together as well as any.
        deviations = deviations_of(self.survey, group, [candidate.members[0] for candidate in group], values)
        return self.survey.values(parts_with(self.survey.train.parts, deviations))

