"""Fitted values as a person would write them: as few figures, and as plain shares, as the readings allow."""

from collections.abc import Iterator
from itertools import product

from lineshaft.audit.candidate import PossibleDeviation
from lineshaft.audit.fitting import agrees, misfit_of
from lineshaft.audit.search import Explained
from lineshaft.audit.survey import Survey

_FIGURES = (2, 3, 4, 5)
_MOST_SHARES = 12  # the largest sum of whole shares that counts as plain
_WORSE = 0.1  # tolerances by which a rounder value may fit worse


def rounded(survey: Survey, explained: Explained) -> tuple[tuple[float, ...], float]:
    """Free values of an explanation, rounder where every number still agrees and hardly worse, and their misfit."""
    values, misfit = explained.fit
    answer, numbers = explained.response, survey.measured
    at = 0
    for candidate in explained.chosen:
        size = len(candidate.spans)
        for plain in _plainer(survey, candidate, values[at : at + size]) if size else ():
            tried = (*values[:at], *plain, *values[at + size :])
            free = answer.free(tried)
            error = misfit_of(answer, numbers, free)
            if error <= explained.fit.misfit + _WORSE and agrees(answer, numbers, free):
                values, misfit = tried, error
                break
        at += size
    return values, misfit


def _plainer(survey: Survey, candidate: PossibleDeviation, values: tuple[float, ...]) -> Iterator[tuple[float, ...]]:
    """Plainer values, the plainest first; all within their spans."""
    if candidate.outlets:
        yield from _whole_shares(len(survey.train.parts[candidate.members[0][0].part].shares), values)
        yield from (tuple(round(value, digits) for value in values) for digits in (3, 4))
        return
    for figures in _FIGURES:
        plain = tuple(float(f"{value:.{figures}g}") for value in values)
        if all(span.low <= value <= span.high for value, span in zip(plain, candidate.spans, strict=True)):
            yield plain


def _whole_shares(outlets: int, values: tuple[float, ...]) -> Iterator[tuple[float, ...]]:
    """Parts of a whole in small whole numbers near the values, the smallest sum first; the rest get something."""
    for total in range(outlets, _MOST_SHARES + 1):
        choices = [sorted({int(v * total), int(v * total) + 1} - {0}) for v in values]
        for counts in product(*choices):
            if sum(counts) + outlets - len(values) <= total:
                yield tuple(count / total for count in counts)
