"""What the program says of each port of a rig beside what a linear solve says, told where they are apart."""

from collections.abc import Iterator, Mapping, Sequence

from independent.linear_solver import Ports

from lineshaft.solve.solved_rig import SolvedRig

EXACT = 1e-9


def disagreements(rig: SolvedRig, expected: Mapping[str, Ports]) -> list[str]:
    """Each place where torque or speed differ by more than 1e-9, in words; a part too many or too few too."""
    found = [f"{name} is in one of them alone" for name in {part.name for part in rig.parts} ^ set(expected)]
    found += [f"{rig.unsolved} parts are unsolved"] if rig.unsolved else []
    for number, part in enumerate(rig.parts):
        if part.name in expected:
            found += [f"{part.name}: {words}" for words in _of_part(rig, number, expected[part.name])]
    return found


def _of_part(rig: SolvedRig, number: int, ports: Ports) -> Iterator[str]:
    """One part: each inlet's torque, the speed in, each outlet's torque, the speed out."""
    flows, part = rig.flows, rig.parts[number]
    arrived = [rig.inlet_torque(number, inlet) for inlet in range(len(part.inlets))]
    yield from _apart("torque of the inlets", arrived, ports.torque_in)
    if ports.torque_in:
        yield from _apart("torque in", [flows.torque_in[number]], [max(ports.torque_in)])
        yield from _apart("speed in", [flows.speed_in[number]] * len(ports.speed_in), ports.speed_in)
    if ports.torque_out:
        yield from _apart("torque out", [flows.torque_out[number]], [max(ports.torque_out)])
        yield from _apart("torque handed on", [flows.passed[number]], [sum(ports.torque_out)])
        yield from _apart("speed out", [flows.speed_out[number]] * len(ports.speed_out), ports.speed_out)


def _apart(what: str, ours: Sequence[float], theirs: Sequence[float]) -> Iterator[str]:
    if len(ours) != len(theirs) or any(abs(a - b) > EXACT * abs(b) for a, b in zip(ours, theirs, strict=True)):
        yield f"{what} {list(ours)} against {list(theirs)}"
