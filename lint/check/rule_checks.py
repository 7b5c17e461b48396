"""What several rules look for alike: parts over a limit, faults found while reading. Their words are made elsewhere."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from lineshaft.solve.limits import limit_of, over
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.start_up import Breach, Quantity

if TYPE_CHECKING:  # a clean rig has none
    from lineshaft.check.finding import Reported


def over_limit(rig: SolvedRig, quantity: Quantity) -> "Iterator[Reported]":
    """One finding for each part whose torque, or speed, is over its limit in the rig as declared."""
    flows = rig.flows
    inlet, outlet = (
        (flows.torque_in, flows.torque_out) if quantity == "torque" else (flows.speed_in, flows.speed_out)
    )
    for number, part in enumerate(rig.parts):
        limit = limit_of(part, quantity)
        if limit is not None and flows.solved[number] and over(max(inlet[number], outlet[number]), limit):
            from lineshaft.check.rule_words import breach_report

            yield breach_report(rig, Breach(number, quantity, inlet[number], outlet[number], limit))


def faults_of(rig: SolvedRig, rule: str) -> "Iterator[Reported]":
    """The faults that ``rule`` owns, each once."""
    for fault in dict.fromkeys(rig.faults):
        if fault.rule == rule:
            from lineshaft.check.rule_words import fault_report

            yield fault_report(fault)
