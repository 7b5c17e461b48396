"""The search for designs: cheapest first, fewest parts first, and again with ever higher rates; each phase bounded.

What the streams yield weighs no more than its bill says. So once nothing lighter than the best bill can come, the best
is known; what weighs as much is looked at too, so that of equal designs the one with the higher rates is shown.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field

from lineshaft.check.finding import Text
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.design.asked import Asked
from lineshaft.design.feeding import Feeding, Plan
from lineshaft.design.finishing import finished
from lineshaft.design.front import MOST_SHOWN
from lineshaft.design.priced import Priced, unbeaten
from lineshaft.design.proposal import Proposal, proposal_of
from lineshaft.design.regearing import regeared
from lineshaft.design.resolving import Layout, resolved
from lineshaft.design.supply import Bounds, Scales, Supply, scales_of
from lineshaft.design.wish import Wish
from lineshaft.design.writing import topology_of, written
from lineshaft.repair.line.effort import Effort
from lineshaft.repair.line.gains import NEVER
from lineshaft.repair.line.prepared import Prepared
from lineshaft.repair.line.prices import cost_of
from lineshaft.repair.proof.context import RepairContext
from lineshaft.stock_bill import bill_of_items, finished_items

MOST_EFFORT = 1_000_000
MOST_FOR_PARTS = 600_000
MOST_FOR_RATES = 120_000
"""Steps of the search for the cheapest, for the fewest parts, and for higher rates in all."""
_AFTER, _AT_LEAST = 2, 6_000
"""Steps beyond those that led to the best design, for other ways: so many times as many, and some."""
_PLAIN = Bounds(stages=2, lines=1, deep=2, heads=False)
"""What is looked for where the whole is too large: no gears before splitters."""
MOST_LOOKED_AT = 4_000
MOST_PROOFS = 60
MOST_RAISES = 8
"""Bounds: plans that are priced in a phase, proofs in all, and how often the rate of one machine is raised."""
_MANY_PARTS = 1e9


@dataclass(slots=True)
class DesignSearch:
    """The proved designs of a wish. ``complete``: none is cheaper or of fewer parts; ``raised``: none is faster."""

    context: RepairContext
    wish: Wish
    asked: Asked = field(default_factory=Asked)
    bounds: Bounds = field(default_factory=Bounds)
    complete: bool = True
    raised: bool = True
    proved: list[Proposal] = field(default_factory=list)
    steps: int = 0
    refused: JudgedFinding | None = None
    idle: Layout | None = None
    _beyond: list[Priced] = field(default_factory=list)
    _known: dict[str, bool] = field(default_factory=dict)

    def run(self) -> None:
        """All phases; each ends in proofs. The one for few parts is quick, so that there is something to go on from."""
        rig, stock = self.context.rig, self.asked.stock
        small = scales_of(rig, stock, parts_first=True)
        few, smallest = self._phase(small, {}, MOST_FOR_PARTS, MOST_SHOWN)
        if not few and not smallest:
            whole, self.bounds = self.bounds, _PLAIN
            few, _ = self._phase(small, {}, MOST_FOR_PARTS, 1)
            self.bounds = whole
        few.sort(key=lambda one: (one.parts, one.price))
        self._prove(few, MOST_SHOWN)
        cheap = scales_of(rig, stock)
        first, cheapest = self._phase(cheap, {}, MOST_EFFORT, MOST_SHOWN)
        self._prove(first, MOST_SHOWN)
        self.complete = smallest and cheapest
        if not self.proved:
            self._without_some(cheap)
            return
        # Where the cheapest are too far to search for them again and again, higher rates are looked for by parts.
        self._raise_rates(cheap if self.complete else small)
        if not self.complete:
            self._gear_anew()

    def cheapest_in_words(self, most: int) -> str | None:
        """The cheapest design by some of the outlets within so many steps, not proved; none where none is found."""
        found, _ = self._phase(scales_of(self.context.rig, self.asked.stock), {}, most, 1, idle=True)
        text = written(self.context.rig, self.wish, found[0].layout) if found else None
        return None if text is None else text.title

    def _gear_anew(self) -> None:
        """The lines of the cheapest and of the smallest design sized by the whole bill."""
        first = min(self.proved, key=lambda one: (one.price, one.repair.parts_added))
        few = min(self.proved, key=lambda one: (one.repair.parts_added, one.price))
        for proposal in (first,) if few is first else (first, few):
            for found in regeared(self.context, proposal, self.wish, self.asked.stock):
                if self.asked.allows(found.price, found.repair.parts_added, found.owned):
                    self.proved.append(found)

    def _phase(
        self,
        scales: Scales,
        longest: dict[int, float],
        most: int,
        ways: int,
        prepared: dict[float, Prepared] | None = None,
        *,
        idle: bool = False,
    ) -> tuple[list[Priced], bool]:
        """The candidates in an order, until the first cannot be beaten and so many ways are known, or the end.

        And whether the first is known to be the best, or that there is none.
        """
        effort = Effort(most)
        supply = Supply(self.context, scales, effort, {} if prepared is None else prepared, longest, self.bounds)
        stream = Feeding(supply, self.wish, idle=idle).plans()
        found: list[Priced] = []
        topologies: set[object] = set()
        at, best, enough = 0, float("inf"), 0
        while not stream.ended and not effort.spent_up and at < MOST_LOOKED_AT:
            stream.step()
            effort.spend()
            for plan in stream.items[at:]:
                candidate = self._priced(plan, scales)
                if candidate is not None:
                    found.append(candidate)
                    topologies.add(topology_of(candidate.layout))
                    measure = candidate.price + (candidate.parts * _MANY_PARTS if scales.parts_first else 0.0)
                    if measure < best:
                        best, enough = measure, (1 + _AFTER) * (most - effort.left) + _AT_LEAST
            at = len(stream.items)
            if self._bound(stream.bound, scales) > best and (len(topologies) >= ways or most - effort.left > enough):
                break
        self.steps += most - effort.left
        known = self._bound(stream.bound, scales) > best or (stream.ended and not supply.stopped)
        return unbeaten(found), known and not effort.spent_up

    def _without_some(self, scales: Scales) -> None:
        """Whether some free outlets would be enough, where all of them together serve nothing."""
        if self.complete and len(self.wish.sources) > 1:
            found, _ = self._phase(scales, {}, MOST_EFFORT, 1, idle=True)
            self.idle = found[0].layout if found else None

    def _bound(self, weight: int, scales: Scales) -> float:
        """What anything further costs at least, a hair below it."""
        if weight >= NEVER:
            return float("inf")
        return float(cost_of(weight, scales.prices.denominator)) * (1 - 1e-12) - 1e-9

    def _priced(self, plan: Plan, scales: Scales) -> Priced | None:
        """A plan as a candidate; none where no whole shares do, or it goes beyond what is asked for."""
        rig, stock = self.context.rig, self.asked.stock
        layout = resolved(plan, self.wish, rig.catalogue)
        if layout is None:
            return None
        items = tuple(layout.items())
        owned = None
        price = scales.prices.added(item.goods for item in items)
        if stock is not None:
            owned = bill_of_items((*finished_items(rig.parts), *items), rig.catalogue, stock)
            price = owned.worth
        candidate = Priced(price, len(items), layout, owned)
        if self.asked.allows(price, len(items), owned):
            return candidate
        self._beyond.append(candidate)
        return None

    def _prove(self, candidates: Iterable[Priced], most: int) -> None:
        """Prove candidates in their order, until so many of them hold."""
        held = 0
        for candidate in candidates:
            if held >= most or len(self._known) >= MOST_PROOFS:
                return
            held += self._holds(candidate.layout)

    def _holds(self, layout: Layout) -> bool:
        text = written(self.context.rig, self.wish, layout)
        if text is None:
            return False
        if text.text not in self._known:
            proved, against = finished(self.context, text.text)
            self._known[text.text] = proved is not None
            if proved is not None:
                found = proposal_of(self.context, proved, text.title, text.topology, self.asked.stock)
                self.proved.append(found._replace(detour=layout.detour))
            elif self.refused is None:
                self.refused = against
        return self._known[text.text]

    def _raise_rates(self, scales: Scales) -> None:
        """Machine by machine the highest rate that holds with the highest of those before it."""
        prepared: dict[float, Prepared] = {}
        longest: dict[int, float] = {}
        for machine in self.wish.machines:
            best = self._best_time(machine.part, longest)
            work = self.context.rig.parts[machine.part].item.work
            if best is None or work is None:
                continue
            longest[machine.part] = self._raised(
                machine.part, longest, best, min(t for _, t in work.times), scales, prepared
            )

    def _raised(
        self,
        machine: int,
        longest: dict[int, float],
        best: float,
        low: float,
        scales: Scales,
        prepared: dict[float, Prepared],
    ) -> float:
        """The shortest time [s] of a machine that was proved: half the way is tried again and again, then a hair."""
        left = MOST_FOR_RATES // len(self.wish.machines) if self.complete else MOST_FOR_RATES
        for turn in range(MOST_RAISES):
            if best <= low * (1 + 1e-6):
                break
            aim = low if turn == 0 else (low + best) / 2 if turn < MOST_RAISES - 2 else best * (1 - 1e-6)
            before = self.steps
            found, ended = self._phase(scales, {**longest, machine: aim}, max(left, 1), 1, prepared)
            left -= self.steps - before
            self._prove(found, 1)
            reached = self._best_time(machine, longest)
            if reached is not None and reached <= aim * (1 + 1e-9):
                best = reached
            elif ended:
                low = aim
            else:
                break
        self.raised = self.raised and best <= low * (1 + 2e-6)
        return best * (1 + 1e-9)

    def _best_time(self, machine: int, longest: dict[int, float]) -> float | None:
        """The shortest time [s] of a machine in what is proved, of designs that keep the times of those before it."""
        parts = self.context.rig.parts
        found = []
        for proposal in self.proved:
            rates = dict(proposal.rates)
            if all((rates[parts[number].name] or 0.0) * time >= 3600 * (1 - 1e-9) for number, time in longest.items()):
                rate = rates[parts[machine].name]
                found += [3600 / rate] if rate else []
        return min(found, default=None)

    def reason(self) -> Text:
        """Why nothing was proved."""
        if self._beyond:
            least = min(self._beyond, key=lambda one: one.price)
            few = min(self._beyond, key=lambda one: one.parts)
            said = f"the cheapest costs {least.price:.6g}, and the one of fewest parts adds {few.parts}"
            if self.asked.within_stock and least.owned is not None:
                lacking = ", ".join(f"{number} {name}" for name, number in least.owned.lacking)
                said += f"; for the cheapest the stock lacks {lacking}"
            return (f"every design goes beyond what is allowed: {said}",)
        if self.idle is not None:
            used = {number for feed in self.idle.feeds for number, _ in feed.lines}
            parts, sources = self.context.rig.parts, self.wish.sources
            left = ", ".join(parts[s.part].name for n, s in enumerate(sources) if n not in used)
            said = f"without {left} there is a design: take it out, or give it a machine"
            return (f"nothing puts every free outlet to use, and {said}",)
        if self.refused is not None:
            return ("what was found does not pass the rules: ", *self.refused.message)
        if not self.complete:
            return ("the search stopped at its bound and found none that holds",)
        return ("no lines and shares within the bounds give every machine what it needs with no part over a limit",)
