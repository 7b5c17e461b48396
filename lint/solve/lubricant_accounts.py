"""What each lubricant circuit and filled part gains and loses while the declared rig runs, and how long it lasts."""

from collections import Counter
from typing import NamedTuple

from lineshaft.schema.model.running import Circuit
from lineshaft.solve.commissioning import commissioning_of
from lineshaft.solve.limits import EQUAL
from lineshaft.solve.machine_output import time_of_unit
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.work_rate import time_of_work


class Account(NamedTuple):
    """A circuit, or a filled part that no circuit feeds (indices; one of the two is none).

    Charge in L; supply and use in L/s, of the rig as declared. ``supply_when_fed`` is what the press would make if it
    got all that it needs: a press that stalls makes nothing.
    """

    circuit: int | None
    part: int | None
    name: str
    lubricant: str
    charge: float
    supply: float
    use: float
    supply_when_fed: float

    @property
    def net(self) -> float:
        """What it gains [L/s]; below zero what it loses."""
        return self.supply - self.use

    @property
    def runs_dry_after(self) -> float | None:
        """Time to dry [s], charge / (use − supply); none where it loses nothing."""
        return self._lasts(self.supply)

    @property
    def runs_dry_when_fed(self) -> float | None:
        """The same if the press got all that it needs."""
        return self._lasts(self.supply_when_fed)

    def _lasts(self, supply: float) -> float | None:
        loss = self.use - supply
        return self.charge / loss if loss > EQUAL * self.use else None


def accounts(rig: SolvedRig) -> tuple[Account, ...]:
    """All circuits in file order, then the filled parts that no circuit feeds.

    A press gives its amount each time of work at its solved speed; one that supplies several circuits is shared evenly.
    """
    circuits = rig.rig.circuits
    shared = Counter(circuit.supplied_by for circuit in circuits)
    found = [
        Account(
            number,
            None,
            circuit.name,
            circuit.lubricant,
            circuit.charge,
            production(rig, circuit.supplied_by) / shared[circuit.supplied_by],
            sum(_use(rig, part) for part in circuit.feeds),
            production_when_fed(rig, circuit.supplied_by) / shared[circuit.supplied_by],
        )
        for number, circuit in enumerate(circuits)
    ]
    fed = {part for circuit in circuits for part in circuit.feeds}
    filled = commissioning_of(rig).filled or {}
    for number, amount in sorted(filled.items()):
        part = rig.parts[number]
        need = part.item.lubricant
        if need is not None and number not in fed:
            found.append(Account(None, number, part.name, need.kind, amount, 0.0, _use(rig, number), 0.0))
    return tuple(found)


def production(rig: SolvedRig, press: int | None) -> float:
    """What a machine makes of its lubricant [L/s] as solved; nothing at rest, where it stalls, or without a press."""
    if press is None or not rig.flows.solved[press]:
        return 0.0
    part = rig.parts[press]
    time = time_of_unit(part, rig.flows.torque_in[press], rig.flows.speed_in[press])
    return part.item.makes.amount / time if part.item.makes is not None and time else 0.0


def production_when_fed(rig: SolvedRig, press: int | None) -> float:
    """The same of a press that gets all that it needs: at the speed that reaches it, or the one it needs if larger."""
    if press is None or not rig.flows.solved[press] or rig.flows.speed_in[press] <= 0:
        return 0.0
    item = rig.parts[press].item
    if item.makes is None or item.work is None:
        return 0.0
    time = time_of_work(item.work, max(rig.flows.speed_in[press], item.needs.speed or 0.0))
    return item.makes.amount / time if time else 0.0


def circuit_of(rig: SolvedRig, account: Account) -> Circuit | None:
    """The circuit of an account; none for a filled part."""
    return None if account.circuit is None else rig.rig.circuits[account.circuit]


def _use(rig: SolvedRig, part: int) -> float:
    need = rig.parts[part].item.lubricant
    return need.uses if need is not None and rig.flows.speed_in[part] > 0 else 0.0
