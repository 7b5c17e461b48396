"""Rigs made to order for tests and benchmarks: clean, or with one known fault. No lineshaft inside."""

from rig_maker.faults import FAULTS, Broken, break_one
from rig_maker.maker import make_fleet, make_rig
from rig_maker.plan import GeneratedRig, PlannedPart

__all__ = ["FAULTS", "Broken", "GeneratedRig", "PlannedPart", "break_one", "make_fleet", "make_rig"]
