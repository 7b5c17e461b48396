"""Every set of deviations of a small rig tried one after the other: no conflicts, no pruning, no straight lines.

Each set is solved by the linear solver; free numbers are found by scipy's simplex search (Nelder and Mead), which
knows nothing but the largest error. Slow, and for rigs of ten parts or so. Of two prime movers that a combiner holds to
one speed the second's number follows from the first's (Brent's method on the difference of the speeds).
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, permutations
from typing import Any, NamedTuple

from independent.linear_solver import solve
from rig_maker.as_built import TOLERANCE, Pairs, Place, Seeded, built, changed
from rig_maker.plan import PlannedPart
from rig_maker.stock import DIVIDERS, STAGE_OF
from scipy.optimize import brentq, least_squares, minimize, minimize_scalar  # type: ignore[import-untyped]

Key = tuple[str, str, object]
"""Kind, part, and what tells two of a kind apart: a ratio, shares of 1, or nothing."""

_LOCKED = 1e6
_LEVEL = 1e-9  # speeds [rad/s] that differ by no more are one
_SHARE = (0.001, 0.999)


class Way(NamedTuple):
    """One deviation, with the spans of its free numbers; ``given`` makes it of them. A common cause has more keys."""

    keys: tuple[Key, ...]
    spans: tuple[tuple[float, float], ...]
    given: Callable[[Sequence[float]], list[Seeded]]


@dataclass(frozen=True, slots=True)
class Case:
    """A plan with what was read at some places."""

    plan: tuple[PlannedPart, ...]
    items: Mapping[str, Any]
    where: tuple[Place, ...]
    read: tuple[tuple[float, float], ...]

    def errors(self, seeded: Sequence[Seeded]) -> list[float]:
        """The error of each number, in tolerances; very large where the rig would lock."""
        values: Pairs | None = built(self.where, self.plan, self.items, seeded, solve)
        if values is None:
            return [_LOCKED] * (2 * len(self.read))
        both = zip(self.read, values, strict=True)
        pairs = [pair for read, value in both for pair in zip(read, value, strict=True)]
        return [abs(r - v) / v / TOLERANCE if v else (_LOCKED if r else 0.0) for r, v in pairs]


def smallest(case: Case, most: int) -> dict[frozenset[Key], float]:
    """All sets of the smallest number of deviations that explain every number, with their largest error.

    Sets that just fail (up to 1.05 tolerances) are there too; whoever compares leaves the doubtful ones alone.
    """
    ways = [way for part in case.plan for way in _ways(part, case)] + list(_common(case))
    for size in range(1, most + 1):
        found = {}
        for chosen in combinations(ways, size):
            keys = frozenset(key for way in chosen for key in way.keys)
            if len({(kind, part) for kind, part, _ in keys}) == sum(len(way.keys) for way in chosen):
                error = _least_error(case, chosen)
                if error < 1.05:
                    found[keys] = error
        if any(error <= 1 for error in found.values()):
            return found
    return {}


def misread(case: Case) -> list[int]:
    """The one reading that holds all that disagrees, where another number of its connected piece agrees."""
    errors = case.errors(())
    wrong = {k // 2 for k, error in enumerate(errors) if error > 1}
    if len(wrong) != 1:
        return []
    piece = next(piece for piece in pieces(case.plan) if case.where[min(wrong)][0] in piece)
    agree = [case.where[k // 2][0] for k, error in enumerate(errors) if error <= 1]
    return list(wrong) if piece & set(agree) else []


def _common(case: Case) -> Iterator[Way]:
    """What all prime movers of a connected rig have in common: so many metres less head, or so much less speed."""
    for piece in pieces(case.plan):
        movers = [part for part in case.plan if part.output is not None and part.name in piece]
        by_head = [part for part in movers if "head" in part.settings]
        if len(by_head) > 1:
            heads = {part.name: float(part.settings["head"].split()[0]) for part in by_head}
            least = {p.name: 2.0 if "table" in case.items[p.item] else 0.05 * heads[p.name] for p in by_head}
            most = min(heads[name] - least[name] for name in heads)
            if most > 0:
                yield Way(
                    tuple(("lower-head", name, None) for name in heads),
                    ((0.0, most),),
                    lambda v, heads=heads: [Seeded("lower-head", n, value=h - v[0]) for n, h in heads.items()],
                )
        if len(movers) > 1 and not by_head:
            names = [part.name for part in movers]
            yield Way(
                tuple(("lower-speed", name, None) for name in names),
                ((0.05, 1.0),),
                lambda v, names=names: [Seeded("lower-speed", name, value=v[0]) for name in names],
            )


def pieces(plan: Sequence[PlannedPart]) -> list[set[str]]:
    """The connected pieces of a plan, by the names of their parts: joined until none has a part in common."""
    pieces = [{part.name, *(name for name, _ in part.driven_by)} for part in plan]
    joined: list[set[str]] = []
    for piece in pieces:
        apart = [other for other in joined if not other & piece]
        joined = [*apart, piece.union(*(other for other in joined if other & piece))]
    return joined


def _ways(part: PlannedPart, case: Case) -> list[Way]:
    name = part.name

    def fixed(kind: str, detail: object = None, **more: Any) -> Way:
        return Way(((kind, name, detail),), (), lambda _: [Seeded(kind, name, **more)])

    def free(kind: str, low: float, high: float) -> Way:
        return Way(((kind, name, None),), ((low, high),), lambda values: [Seeded(kind, name, value=values[0])])

    found: list[Way] = []
    if part.output is not None:
        found.append(fixed("stopped"))
        found += _weaker(part, case, free)
    elif part.kind == "clutch":
        found.append(fixed("clutch-open"))
    else:
        found.append(fixed("not-coupled"))
    if part.ratio is not None:
        found.append(fixed("other-way"))
        ratios = [ratio for _, ratio in STAGE_OF[part.item].ratios if ratio != part.ratio]
        found += [fixed("other-ratio", ratio, ratio=ratio) for ratio in ratios]
    if part.kind in ("gear-stage", "right-angle"):
        found.append(free("torque-lost", 0.05, 1.0))
    return found + _shares(part, fixed) if part.shares else found


def _weaker(part: PlannedPart, case: Case, free: Callable[[str, float, float], Way]) -> list[Way]:
    if "head" not in part.settings:
        return [free("lower-torque", 0.05, 1.0), free("lower-speed", 0.05, 1.0)]
    head = float(part.settings["head"].split()[0])
    low = 2.0 if "table" in case.items[part.item] else 0.05 * head
    return [free("lower-head", low, head)] if low < head else []


def _shares(part: PlannedPart, fixed: Callable[..., Way]) -> list[Way]:
    offered = next(shares for item, shares, _ in DIVIDERS[len(part.shares)] if item == part.item)
    total = sum(weight for _, weight in part.shares)
    own = tuple(weight / total for _, weight in part.shares)
    if offered is None:
        spans = tuple(_SHARE for _ in own[1:])

        def given(values: Sequence[float]) -> list[Seeded]:
            return [Seeded("estimated-shares", part.name, shares=(*values, max(1 - sum(values), 1e-9)))]

        return [Way((("estimated-shares", part.name, None),), spans, given)]
    orders = {tuple(weight / sum(row) for weight in order) for row in offered for order in permutations(row)}
    return [fixed("other-shares", shares, shares=shares) for shares in sorted(orders - {own})]


def _least_error(case: Case, chosen: Sequence[Way]) -> float:
    spans = [span for way in chosen for span in way.spans]

    def errors(values: Sequence[float]) -> list[float]:
        seeded: list[Seeded] = []
        at = 0
        for way in chosen:
            seeded += way.given(values[at : at + len(way.spans)])
            at += len(way.spans)
        return case.errors(seeded)

    if not spans:
        return max(errors(()))
    if len(spans) == len(chosen) == 2 and all(way.keys[0][0] in ("lower-head", "lower-speed") for way in chosen):
        coupled = _coupled(case, chosen, errors)
        if coupled is not None:
            return coupled
    if len(spans) == 1:
        options = {"xatol": 1e-7}
        found = minimize_scalar(lambda u: max(errors((u,))), bounds=spans[0], method="bounded", options=options)
        return float(found.fun)
    return min(_descended(errors, spans, start) for start in (0.3, 0.7))


def _coupled(
    case: Case, chosen: Sequence[Way], errors: Callable[[Sequence[float]], list[float]]
) -> float | None:
    """The least error of two prime movers that have to turn at one speed; none where they need not."""
    (first,), (second,) = chosen[0].spans, chosen[1].spans

    def gap(u: float, v: float) -> float:
        plan = changed(case.plan, case.items, [*chosen[0].given((u,)), *chosen[1].given((v,))])
        ports = solve(plan)
        speeds = [ports[part.name].speed_in for part in plan if part.kind == "combiner"]
        return sum(one[-1] - one[0] for one in speeds if one)

    def follows(u: float) -> float | None:
        low, high = gap(u, second[0]), gap(u, second[1])
        if abs(high) < _LEVEL or abs(low) < _LEVEL:
            return second[1] if abs(high) < _LEVEL else second[0]
        return float(brentq(lambda v: gap(u, v), *second, xtol=1e-13)) if low * high < 0 else None

    if abs(gap(first[0], second[1]) - gap(first[1], second[1])) < _LEVEL:
        return None

    def largest(u: float) -> float:
        v = follows(u)
        return _LOCKED if v is None else max(errors((u, v)))

    starts = [first[0] + k / 24 * (first[1] - first[0]) for k in range(25)]
    best = min(starts, key=largest)
    width = (first[1] - first[0]) / 24
    bounds = (max(first[0], best - width), min(first[1], best + width))
    return float(minimize_scalar(largest, bounds=bounds, method="bounded", options={"xatol": 1e-9}).fun)


def _descended(
    errors: Callable[[Sequence[float]], list[float]], spans: Sequence[tuple[float, float]], start: float
) -> float:
    """Least squares first, since the largest error alone leads a simplex astray where numbers are many."""
    low, high = [span[0] for span in spans], [span[1] for span in spans]
    shares = max(1, sum(span == _SHARE for span in spans))
    first = [a + start * (b - a) / (shares if (a, b) == _SHARE else 1) for a, b in spans]
    near = least_squares(errors, first, bounds=(low, high), max_nfev=60).x

    def largest(values: Sequence[float]) -> float:
        inside = all(a <= value <= b for a, value, b in zip(low, values, high, strict=True))
        return max(errors(values)) if inside else _LOCKED

    options = {"maxfev": 150, "xatol": 1e-6, "fatol": 1e-6}
    return float(minimize(largest, near, method="Nelder-Mead", options=options).fun)
