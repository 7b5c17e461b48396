"""The smallest sets of deviations that explain all readings of one train.

The search is Reiter's (*A Theory of Diagnosis from First Principles*, Artificial Intelligence 32, 1987): where a set
does not explain the readings it leaves a conflict, numbers of which one more deviation has to move, and only deviations
that can move one of them are added. As in de Kleer and Williams (*Diagnosing Multiple Faults*, the same volume) smaller
sets come first; here none is looked at that is larger than the smallest that explains.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from lineshaft.audit.candidates import PossibleDeviation, candidates
from lineshaft.audit.deviations import Deviation, parts_with
from lineshaft.audit.fitting import Clash, Fit, Response, fit, response
from lineshaft.audit.survey import Survey, Values

MOST_DEVIATIONS = 3
MOST_SOLVES = 40_000
"""Bounds of the search in one train: how many deviations together, and how many forward solves."""

Chosen = tuple[int, ...]
"""Candidates by their index, ascending."""


class Explained(NamedTuple):
    """Candidates that explain every number, with their fit and the response it was found with."""

    chosen: tuple[PossibleDeviation, ...]
    fit: Fit
    response: Response


class Outcome(NamedTuple):
    """The smallest explanations of one train; ``complete`` is false where a bound ended the search before its end."""

    explained: tuple[Explained, ...]
    complete: bool


def explain(survey: Survey) -> Outcome:
    """The smallest sets of candidates that explain every number of a survey, in no particular order."""
    search = _Search(survey, candidates(survey))
    for size in range(1, MOST_DEVIATIONS + 1):
        search.grow((), size)
        if search.found or search.spent:
            break
    return Outcome(tuple(search.found.values()), not search.spent)


def deviations_of(
    survey: Survey, chosen: Sequence[PossibleDeviation], ways: Sequence[tuple[Deviation, ...]], fitted: Sequence[float]
) -> tuple[Deviation, ...]:
    """One member of each candidate with its free values, as deviations of the survey's parts."""
    found: list[Deviation] = []
    at = 0
    for candidate, way in zip(chosen, ways, strict=True):
        own = tuple(fitted[at : at + len(candidate.spans)])
        at += len(candidate.spans)
        found += candidate.at(way, own, survey.train.parts[way[0].part])
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

    @property
    def spent(self) -> bool:
        """Whether the bound on forward solves is reached."""
        return self.solves >= MOST_SOLVES

    def grow(self, chosen: Chosen, left: int) -> None:
        """Add ``left`` more deviations to a set, in every way that its conflicts allow."""
        if (chosen, left) in self.grown or self.spent:
            return
        self.grown.add((chosen, left))
        clash = self._clash(chosen)
        if clash is None:
            return
        conflict = self._conflict(clash)
        aspects = {self.pool[index].aspect for index in chosen}
        for index, candidate in enumerate(self.pool):
            if not candidate.mask & conflict or candidate.count > left or candidate.aspect in aspects:
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
        answer = response(lambda values: self._solved(group, values), [c.spans for c in group])
        result = fit(answer, self.survey.measured)
        if isinstance(result, Fit):
            self.found[chosen] = Explained(group, result, answer)
            return None
        self.looked[chosen] = result
        return result

    def _solved(self, group: tuple[PossibleDeviation, ...], values: tuple[float, ...]) -> Values:
        self.solves += 1
        # Their aspects differ, so the first members go together as well as any.
        deviations = deviations_of(self.survey, group, [candidate.members[0] for candidate in group], values)
        return self.survey.values(parts_with(self.survey.train.parts, deviations))

