"""A solved rig to its schematic: every part with what it does, every connection with what it carries."""

from collections.abc import Iterator

from lineshaft.check.finding import Measure, Text, speed, times, torque
from lineshaft.report_model.drawn_state import DrawnState, drawn_state, when_words
from lineshaft.report_model.part_facts import facts_of
from lineshaft.report_model.schematic_record import DrawnCircuit, Figure, Frame, Link, Node, Quantity, Schematic
from lineshaft.schema.model.rig import Part
from lineshaft.solve.commissioning import commissioning_of
from lineshaft.solve.limits import over, speed_carried, torque_carried
from lineshaft.solve.lubricant_accounts import accounts
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.steady_state import outlet_torque

_MEASURES = {"torque": torque, "speed": speed}
Load = tuple[float, Quantity, tuple[Measure, Measure]]


def schematic(rig: SolvedRig) -> Schematic:
    """The schematic of a solved rig in the state that fails worst, else as declared; parts in file order."""
    state = drawn_state(rig)
    facts = facts_of(rig, state)
    nodes = tuple(_node(rig, number, state)._replace(facts=facts[number]) for number in range(len(rig.parts)))
    links = sorted(_links(rig, state), key=lambda pair: (pair[0].source, pair[1]))
    return Schematic(
        rig.file,
        rig.rig.name,
        nodes,
        tuple(link for link, _ in links),
        rig.rig.edition or "",
        state.words,
        tuple(_frames(rig)),
        tuple(_circuits(rig)),
    )


def does(rig: SolvedRig, number: int, state: DrawnState) -> Text:
    """What a part does in words, for example `reduces 5/2 : 1`, `divides 1 : 6`, `passes on`."""
    part = rig.parts[number]
    if part.ratio is not None:
        verb = "increases" if state.settings.increasing[number] else "reduces"
        return (f"{verb} {part.ratio.text} : 1",)
    if part.outlets:
        words: list[Text] = [(" : ", times(share)) for share in part.shares]
        return ("divides ", *[piece for pair in words for piece in pair][1:])
    if part.item.kind == "combiner":
        return (f"adds {len(part.inlets)} lines",)
    if part.item.kind == "clutch":
        return ("engaged" if state.settings.closed[number] else "open",)
    return ({"prime-mover": "gives", "driven-machine": "takes"}.get(part.item.kind, "passes on"),)


def _node(rig: SolvedRig, number: int, state: DrawnState) -> Node:
    part, flows = rig.parts[number], state.flows
    solved = bool(flows.solved[number])
    carried = _carried(rig, number, state) if solved else None
    worst, when = commissioning_of(rig).worst.get(number), ""
    if worst is not None and over(worst.breach.times_limit, carried[0] if carried else 0.0):
        breach = worst.breach
        sign = _MEASURES[breach.quantity]
        carried = breach.times_limit, breach.quantity, (sign(breach.carried), sign(breach.limit))
        when = when_words(worst.step)
    elif worst is not None and state.when == when_words(worst.step):
        when = state.when
    share, quantity, load = carried or (None, None, None)
    return Node(
        part.name,
        part.label,
        part.item.name,
        _figure(rig, number, state),
        does(rig, number, state),
        share,
        quantity,
        solved,
        share is not None and over(share, 1.0),
        when,
        load,
        (),
        flows.speed_in[number] > 0 or flows.speed_out[number] > 0,
    )


def _carried(rig: SolvedRig, number: int, state: DrawnState) -> Load | None:
    """The larger share of a limit that a part uses, of which, and the load; torque where both are the same."""
    part, flows = rig.parts[number], state.flows
    found: list[Load] = []
    if part.torque_limit is not None:
        has = torque_carried(flows, number)
        found.append((has / part.torque_limit, "torque", (torque(has), torque(part.torque_limit))))
    if part.speed_limit is not None:
        has = speed_carried(flows, number)
        found.append((has / part.speed_limit, "speed", (speed(has), speed(part.speed_limit))))
    return max(found, key=lambda load: load[0]) if found else None


def _figure(rig: SolvedRig, number: int, state: DrawnState) -> Figure:
    kind = rig.parts[number].item.kind
    if kind == "gear-stage":
        return "stage-increasing" if state.settings.increasing[number] else "stage-reducing"
    if kind == "clutch":
        return "clutch-engaged" if state.settings.closed[number] else "clutch-open"
    return kind


def _links(rig: SolvedRig, state: DrawnState) -> Iterator[tuple[Link, int]]:
    """Each connection with the number of the outlet that it leaves from."""
    for target, part in enumerate(rig.parts):
        for source, outlet in part.inlets:
            solved = bool(state.flows.solved[source])
            carried = _arriving(rig, target, source, outlet, state) if solved else 0.0
            turns = state.flows.speed_out[source] if solved else 0.0
            yield Link(source, target, _outlet(rig.parts[source], outlet), carried, turns, solved), outlet


def _arriving(rig: SolvedRig, target: int, source: int, outlet: int, state: DrawnState) -> float:
    """Torque [N*m] on a connection; none on one that an open clutch holds nothing against."""
    if len(rig.parts[target].inlets) == 1 and state.flows.solved[target]:
        return state.flows.torque_in[target]
    return outlet_torque(rig.parts[source], state.flows.passed[source], outlet)


def _outlet(source: Part, outlet: int) -> str | None:
    return source.outlets[outlet] if source.outlets else None


def _frames(rig: SolvedRig) -> Iterator[Frame]:
    """The blueprints in place, the outer ones first."""
    inside: dict[str, list[int]] = {}
    for number, part in enumerate(rig.parts):
        for at, sign in enumerate(part.name):
            if sign == "/":
                inside.setdefault(part.name[:at], []).append(number)
    for name, numbers in inside.items():
        depth = name.count("/") + 1
        first = rig.parts[numbers[0]]
        file = first.uses[depth].tree if depth < len(first.uses) else first.tree
        yield Frame(name, file.source.shown, tuple(numbers))


def _circuits(rig: SolvedRig) -> Iterator[DrawnCircuit]:
    named = {account.circuit: account for account in accounts(rig)}
    for number, circuit in enumerate(rig.rig.circuits):
        one = named[number]
        yield DrawnCircuit(
            circuit.name,
            circuit.lubricant,
            circuit.holds,
            circuit.charge,
            None if circuit.supplied_by is None else rig.parts[circuit.supplied_by].name,
            tuple(rig.parts[fed].name for fed in circuit.feeds),
            one.supply,
            one.use,
            one.runs_dry_after,
        )
