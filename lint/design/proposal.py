"""A proposal: a whole rig, written out, solved and judged by every rule and the policy; no finding but notes."""

import math
from typing import NamedTuple

from lineshaft.check.finding import Edit
from lineshaft.check.judged_finding import JudgedFinding, Repair
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.proof.effect import repair_of
from lineshaft.schema.model.stock import Inventory
from lineshaft.schema.text.text import SourceText
from lineshaft.solve.limits import worst_share
from lineshaft.solve.lubricant_accounts import accounts
from lineshaft.solve.movements import rate
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.stock_bill import StockBill, bill_from_stock

Topology = tuple[object, ...]
"""Which machines hang on which prime movers, how lines divide and gather: designs alike in it differ in gears only."""


class Proposal(NamedTuple):
    """A proved design. ``rates`` are units of work an hour by machine, in the order of the file; none without a table.

    ``margin`` is the least limit over load of any part; ``lasts`` [s] how long lubricant lasts; ``owned`` the bill
    against a stock; none where there is no limit, nothing runs dry, no stock. ``detour``: a line gears up and down.
    """

    title: str
    topology: Topology
    text: str
    rig: SolvedRig
    repair: Repair
    notes: tuple[JudgedFinding, ...]
    rates: tuple[tuple[str, float | None], ...]
    margin: float | None
    lasts: float | None
    owned: StockBill | None = None
    detour: bool = False

    @property
    def price(self) -> float:
        """What it is ordered by: what has to be got where there is a stock, else what the bill comes to more."""
        return self.repair.worth if self.owned is None else self.owned.worth

    @property
    def edits(self) -> tuple[Edit, ...]:
        """The edits that write it."""
        return self.repair.edits


def proposal_of(
    context: RepairContext, proved: RepairContext, title: str, topology: Topology, stock: Inventory | None = None
) -> Proposal:
    """The proposal that a proved rig is, beside the rig that it was made for."""
    before, after = context.rig, proved.rig
    edits = changed_lines(before.rig.tree.source, after.rig.tree.source.text)
    repair = repair_of(title, edits, before, after)
    machines = (n for n, part in enumerate(after.parts) if part.item.kind == "driven-machine")
    rates = tuple((after.parts[n].name, rate(after, n)) for n in machines)
    owned = None if stock is None else bill_from_stock(after.parts, after.catalogue, stock)
    text = after.rig.tree.source.text
    return Proposal(title, topology, text, after, repair, proved.findings, rates, _margin(after), _lasts(after), owned)


def holds(proved: RepairContext) -> bool:
    """Whether every part is solved, and nothing is found but notes and what the rig waives."""
    rig = proved.rig
    return bool(rig.parts) and not rig.unsolved and against(proved) is None


def against(proved: RepairContext) -> JudgedFinding | None:
    """The first finding that speaks against a rig: no note, and not waived."""
    return next((finding for finding in proved.findings if finding.level != "note" and not finding.passes), None)


def _margin(rig: SolvedRig) -> float | None:
    shares = [share for n, part in enumerate(rig.parts) if (share := worst_share(part, n, rig.flows)) is not None]
    most = max(shares, default=0.0)
    return 1 / most if most > 0 else None


def _lasts(rig: SolvedRig) -> float | None:
    found = [lasts for account in accounts(rig) if (lasts := account.runs_dry_after) is not None]
    least = min(found, default=math.inf)
    return None if math.isinf(least) else least


def changed_lines(source: SourceText, text: str) -> tuple[Edit, ...]:
    """The edits from one text to another, by whole lines; every line outside them keeps every byte."""
    import difflib  # where a design is written down

    old, new = source.text.splitlines(keepends=True), text.splitlines(keepends=True)
    starts = [0]
    for line in old:
        starts.append(starts[-1] + len(line))
    found = []
    for kind, a, b, c, d in difflib.SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if kind != "equal":
            found.append(Edit(source.shown, source.span(starts[a], starts[b]), "".join(new[c:d])))
    return tuple(found)
