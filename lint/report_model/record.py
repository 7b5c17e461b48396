"""What a drawing or report shows of one rig, as plain data in SI: writers see this and no rig.

Shares are of a limit, 1 at the limit; none where there is no limit or no solution.
"""

from typing import Literal, NamedTuple

from lineshaft.check.finding import Text
from lineshaft.check.judged_finding import JudgedFinding, Repair
from lineshaft.report_model.schematic_record import Quantity, Schematic


class Setting(NamedTuple):
    """What a sweep changes: a part, its key (`head`, `torque`, `speed`, `ratio`, an outlet's name), the SI unit."""

    part: str
    key: str
    unit: str


Condition = Literal["torque", "speed", "needs"]
"""What turns over in a sweep: a part's torque or speed limit, or whether a machine gets what it needs."""


class Crossing(NamedTuple):
    """Where a condition turns over: two neighbouring values of four figures, one on each side; both were solved.

    Of ratios they are two that the item comes in.

    ``rises``: the condition fails above (a part breaks there); else it fails below.
    """

    part: str
    condition: Condition
    holds: float
    fails: float

    @property
    def rises(self) -> bool:
        """Whether it fails above and holds below."""
        return self.fails > self.holds


class ShareCurve(NamedTuple):
    """The share of one limit of a part at each value; none where the rig is not solved there."""

    part: str
    quantity: Quantity
    shares: tuple[float | None, ...]


class RateCurve(NamedTuple):
    """What a machine makes [units an hour] at each value, and whether it gets what it needs there."""

    part: str
    unit: str
    rates: tuple[float | None, ...]
    fed: tuple[bool, ...]


class SweepSpan(NamedTuple):
    """The ranges of the setting in which a condition of a part holds and is solved, by the values of its crossings."""

    part: str
    condition: Condition
    holds: tuple[tuple[float, float], ...]


class SweepWindow(NamedTuple):
    """The first range in which a machine works and every part is within its limits; both ends are values that hold.

    ``first`` is the machine that starts there, or the part that comes to keep to its limit: ``begins`` says which. None
    where it is so from the first value on, or from the first that is solved. ``breaks`` is the part that breaks above,
    or the machine that starves with which none works any more, and ``condition`` what fails; none where it is so up to
    the last value, or the last that is solved.
    """

    low: float
    high: float
    first: str | None
    breaks: str | None
    condition: Condition | None
    begins: Condition | None = "needs"


class Sweep(NamedTuple):
    """A rig solved at each of some values of one setting; ``declared`` is the rig's own value, where it has one.

    ``broken`` are the limits that are passed at the first value already, ``starved`` the machines that do not get what
    they need there. ``unsolved`` counts the values at which not every part is solved.
    """

    setting: Setting
    declared: float | None
    values: tuple[float, ...]
    curves: tuple[ShareCurve, ...]
    rates: tuple[RateCurve, ...]
    crossings: tuple[Crossing, ...]
    broken: tuple[tuple[str, Condition], ...] = ()
    starved: tuple[str, ...] = ()
    spans: tuple[SweepSpan, ...] = ()
    window: SweepWindow | None = None
    unsolved: int = 0


class LinePoint(NamedTuple):
    """One part of a line, and its shares of its torque and speed limits."""

    part: str
    torque_share: float | None
    speed_share: float | None


class Line(NamedTuple):
    """The parts that lead from a prime mover to a machine (or to the end of the line), in that order.

    ``when`` is empty where the shares are those of the rig as declared, else it tells the state of the start-up.
    """

    end: str
    points: tuple[LinePoint, ...]
    when: str = ""


class CheckStep(NamedTuple):
    """One step of a commissioning list, and the state after it.

    ``turns`` and ``stops`` are the parts that begin and cease to turn, ``turning`` counts all that turn; ``share`` is
    the largest share of a limit, at ``worst``; ``over``: the step brings a part over a limit; ``broken`` are these
    parts with how many times their limit they carry, the worst first; ``part`` is what the step acts on.
    """

    number: int
    does: Text
    at: tuple[float, float, float] | None
    turns: tuple[str, ...]
    stops: tuple[str, ...]
    turning: int
    worst: str | None
    share: float
    over: bool
    broken: tuple[tuple[str, float], ...] = ()
    part: str = ""
    fills: bool = False


class Checklist(NamedTuple):
    """The rig's own list, or a safe one that was simulated (``proposed``); or why there is none."""

    steps: tuple[CheckStep, ...]
    proposed: bool
    why_none: Text = ()


class LubricantRow(NamedTuple):
    """What a circuit or a filled part holds [L], gains and loses [L/s]; time to dry [s], none where it never is."""

    name: str
    circuit: bool
    lubricant: str
    charge: float
    supply: float
    use: float
    net: float
    runs_dry_after: float | None


class BillRow(NamedTuple):
    """A raw good with its worth, or a component with how many makings it takes."""

    name: str
    needed: int
    makings: int | None
    worth: float | None


class MachineCurve(NamedTuple):
    """What machines of one item at one speed make: (speed [rad/s], units an hour) along the table, and here.

    ``needs`` and ``limit`` are the least and the greatest speed of the item [rad/s], where it has them.
    """

    parts: tuple[str, ...]
    item: str
    unit: str
    curve: tuple[tuple[float, float], ...]
    speed: float
    rate: float | None
    needs: float | None = None
    limit: float | None = None


class MachineRow(NamedTuple):
    """A driven machine as declared: torque, speed and power [N*m, rad/s, W] that it gets and needs (none: not asked).

    ``times_needed`` is the least of what it gets over what it needs; ``share`` the larger share of its limits;
    ``rate`` and ``target`` are units of work an hour, 0 where it is short of a need, none at rest or without a table.
    """

    name: str
    item: str
    solved: bool
    gets: tuple[float, float, float]
    needs: tuple[float | None, float | None, float | None]
    times_needed: float | None
    share: float | None
    rate: float | None
    unit: str
    target: float | None


class ItemRow(NamedTuple):
    """An item in one grade: its kind, how many parts it makes, the largest share of a limit and at which."""

    item: str
    kind: str
    grade: str
    parts: int
    share: float | None
    worst: str | None


class PicturedRepair(NamedTuple):
    """A repair under its number in the rig's list: the findings that it mends by fingerprint, the lines that change.

    ``before`` and ``after`` are the rig solved without and with it, and ``left`` what is then found in it.
    """

    number: int
    repair: Repair
    mends: tuple[str, ...]
    diff: tuple[str, ...]
    before: Schematic
    after: Schematic
    left: tuple[JudgedFinding, ...]


class ReportModel(NamedTuple):
    """All that a report shows of one rig beside its findings.

    ``unswept`` heads and ``more_repairs`` are left out for their number.
    """

    schematic: Schematic
    lines: tuple[Line, ...]
    checklist: Checklist
    lubricants: tuple[LubricantRow, ...]
    bill: tuple[BillRow, ...]
    worth: float
    machines: tuple[MachineCurve, ...]
    sweeps: tuple[Sweep, ...]
    unswept: int
    cautions: bool
    machine_rows: tuple[MachineRow, ...] = ()
    item_rows: tuple[ItemRow, ...] = ()
    repairs: tuple[PicturedRepair, ...] = ()
    more_repairs: int = 0
