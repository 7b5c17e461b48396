"""A stock made ready for searches, once for all of them: stages grouped, gains packed, what they reach, trees."""

import math

from lineshaft.repair.line.gains import NEVER, Gains
from lineshaft.repair.line.reach import Reaches
from lineshaft.repair.line.segment import Stock
from lineshaft.repair.line.steps import grouped
from lineshaft.repair.line.trees import Trees


class Prepared:
    """A stock with its groups of stages, for lines of up to so many stages."""

    __slots__ = ("gains", "groups", "reach", "stages", "stock", "trees")

    def __init__(self, stock: Stock, stages: int, trees: Trees | None = None) -> None:
        self.stages, self.stock = stages, stock
        different = {(stage.ratio.terms, stage.direction): stage for stage in stock.stages}
        self.gains = Gains(stage.gain for stage in different.values())
        self.groups = grouped(stock.stages, self.gains)
        self.trees = Trees(stock.splitters, stock.combiners) if trees is None else trees
        lightest: dict[int, tuple[float, int]] = {}
        for group in self.groups:
            weight = min(slot.stage.make.weight for slot in group.slots)
            known = lightest.get(group.gain, (0.0, NEVER))[1]
            lightest[group.gain] = (math.log(group.factor), min(known, weight))
        self.reach = Reaches(list(lightest.values()), stages)
