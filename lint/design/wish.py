"""A wish: the machines of a rig that nothing drives, and the outlets whose power is still free."""

from collections.abc import Iterator
from typing import NamedTuple

from lineshaft.check.finding import Text, power, speed
from lineshaft.repair.edits.splice import spliced, splices_of
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.size import Wanted, wanted_by
from lineshaft.repair.strategies.draft import Draft
from lineshaft.schema.model.rig import NOTHING_PLACED
from lineshaft.schema.text.span import Span
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.steady_state import outlet_torque

MOST_MACHINES = 6
MOST_SOURCES = 4
"""Bounds of one design."""


class Source(NamedTuple):
    """A free outlet: its part (index) and outlet, and what leaves it [N*m, rad/s]."""

    part: int
    outlet: int
    torque: float
    speed: float

    @property
    def power(self) -> float:
        """What it gives [W]."""
        return self.torque * self.speed


class Served(NamedTuple):
    """A machine (index) that is to be driven, and the least that it wants."""

    part: int
    wanted: Wanted

    @property
    def power(self) -> float:
        """The least power [W] that serves it."""
        return max(self.wanted.power, self.wanted.torque * self.wanted.speed)


class Wish(NamedTuple):
    """What is to be served by what, both in the order of the file, which is the order of importance."""

    machines: tuple[Served, ...]
    sources: tuple[Source, ...]


class Obstacle(NamedTuple):
    """Why a rig is no wish that a design can be made for: where (file as shown, span), and what to do.

    ``hinders_anew``: neither is it where all that stands between is taken out first.
    """

    file: str
    span: Span
    message: Text
    hinders_anew: bool = True


def wish_of(rig: SolvedRig) -> Wish | tuple[Obstacle, ...]:
    """The wish that a rig is, or everything that stands in the way of a design."""
    found = tuple(_obstacles(rig))
    if found:
        return found
    machines = []
    for number, part in enumerate(rig.parts):
        if part.item.kind == "driven-machine" and not part.inlets:
            wanted = wanted_by(part)
            if wanted is None:
                return (
                    _at(rig, number, "target", f"no speed in the work table of {part.item.name} meets this target"),
                )
            machines.append(Served(number, wanted))
    return Wish(tuple(machines), tuple(_sources(rig)))


def cleared(context: RepairContext) -> RepairContext | None:
    """The rig without all that stands between prime movers and machines; none where it cannot be taken out neatly."""
    rig = context.rig
    gone = {n for n, part in enumerate(rig.parts) if part.item.kind not in ("prime-mover", "driven-machine")}
    machines = (n for n, part in enumerate(rig.parts) if part.item.kind == "driven-machine" and part.inlets)
    draft = Draft(rig, settings={(number, "driven-by"): None for number in machines}, gone=gone, sweeps=True)
    edits = draft.cleared()
    if edits is None:
        return None
    source = rig.rig.tree.source
    return context.with_text(spliced(source.text, splices_of(source, edits)))


def _sources(rig: SolvedRig) -> Iterator[Source]:
    """The free outlets that turn, of parts that hand power on."""
    for number, part in enumerate(rig.parts):
        if part.item.kind == "driven-machine" or not rig.flows.solved[number] or rig.flows.speed_out[number] <= 0:
            continue
        for outlet in range(len(part.outlets) or 1):
            torque = outlet_torque(part, rig.flows.passed[number], outlet)
            if (number, outlet) not in rig.train.driven and torque > 0:
                yield Source(number, outlet, torque, rig.flows.speed_out[number])


def _obstacles(rig: SolvedRig) -> Iterator[Obstacle]:
    for fault in rig.faults:
        yield Obstacle(fault.file, fault.span, (fault.message,))
    tree = rig.rig.tree
    if rig.faults or not rig.parts:
        return
    for reading in rig.rig.readings[:1]:
        message = "readings are of a build that stands; a design is for one that does not: take them out first"
        yield Obstacle(rig.file, tree.span(reading.route), (message,))
    if rig.rig.placed is not NOTHING_PLACED:
        used = next(part.uses[0] for part in rig.parts if part.uses)
        message = (
            "a design is made of parts of this file: write the blueprint's parts out, or design the rest by itself"
        )
        yield Obstacle(used.tree.source.shown, used.tree.key_span(used.route), (message,))
        return
    for number, part in enumerate(rig.parts):
        if part.item.kind not in ("prime-mover", "driven-machine") and not part.inlets:
            said = f"nothing drives {part.name}: only machines are wishes; connect it or take it out"
            yield _at(rig, number, "", said, hinders_anew=False)
        elif part.inlets and not rig.flows.solved[number]:
            said = f"{part.name} is not solved: see `lineshaft check {rig.file}`"
            yield _at(rig, number, "", said, hinders_anew=False)
    if not any(part.item.kind == "driven-machine" and not part.inlets for part in rig.parts):
        said = "every machine is driven: there is nothing to design, unless with --anew"
        yield Obstacle(rig.file, tree.key_span(("parts",)), (said,), hinders_anew=False)


def _at(rig: SolvedRig, number: int, key: str, message: str, *, hinders_anew: bool = True) -> Obstacle:
    file, span, _ = rig.setting(number, key) if key else rig.place(number)
    return Obstacle(file, span, (message,), hinders_anew)


def lack_of_power(rig: SolvedRig, wish: Wish) -> Text | None:
    """That all sources together give less than all machines want; none where they give enough."""
    has, takes = sum(source.power for source in wish.sources), sum(machine.power for machine in wish.machines)
    if has >= takes * (1 - 1e-9):
        return None
    names = ", ".join(rig.parts[machine.part].name for machine in wish.machines)
    verb = "takes at least " if len(wish.machines) == 1 else "together take at least "
    return (f"{names} {verb}", power(takes), ", and ", power(has), " is free: ", power(takes - has), " is lacking")


def source_words(rig: SolvedRig, source: Source) -> Text:
    """A source in words: its name, torque and speed."""
    part = rig.parts[source.part]
    name = f"{part.name}.{part.outlets[source.outlet]}" if part.outlets else part.name
    return (f"{name} gives ", power(source.power), " at ", speed(source.speed))
