"""A large schematic folded: groups of parts that are alike drawn once, blueprints in place as one part each.

What a finding stands at is never folded away, and neither is what is over a limit.
"""

from collections.abc import Collection, Hashable, Iterable, Mapping

from lineshaft.check.finding import Measure
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.report_model.excerpt import without
from lineshaft.report_model.schematic_record import Frame, Link, Node, Schematic

FOLDED_PAST = 24
"""Parts that are drawn one by one in any case."""
MOST_UNFOLDED = 60
"""Past so many parts, once what is alike is folded, blueprints fold too."""
_CLOSE = 9  # figures by which two loads are the same


def parts_at_fault(findings: Iterable[JudgedFinding]) -> frozenset[str]:
    """The parts that errors and warnings stand at, by name."""
    parts = (finding.home[1] for finding in findings if finding.level != "note")
    return frozenset(part for part in parts if part is not None)


def folded(schematic: Schematic, keep: Collection[str] = ()) -> Schematic:
    """The schematic with what is alike drawn once; ``keep`` are the names of parts that stay as they are."""
    if len(schematic.nodes) <= FOLDED_PAST:
        return schematic
    found = _alike_folded(schematic, frozenset(keep))
    if len(found.nodes) <= MOST_UNFOLDED:
        return found
    for frame in schematic.frames:
        if "/" not in frame.name:
            found = _blueprint_folded(found, frame.name, frozenset(keep))
    return found


class _Ways:
    """What each part drives, what drives it, and the order from machines up; rings are in no order."""

    def __init__(self, schematic: Schematic) -> None:
        count = len(schematic.nodes)
        self.out: list[list[Link]] = [[] for _ in range(count)]
        self.ins = [0] * count
        for link in schematic.links:
            self.out[link.source].append(link)
            self.ins[link.target] += 1
        left = [len(links) for links in self.out]
        above: list[list[int]] = [[] for _ in range(count)]
        for link in schematic.links:
            above[link.target].append(link.source)
        self.upwards = [number for number in range(count) if not left[number]]
        for here in self.upwards:
            for source in above[here]:
                left[source] -= 1
                if not left[source]:
                    self.upwards.append(source)


def _alike_folded(schematic: Schematic, keep: frozenset[str]) -> Schematic:
    ways = _Ways(schematic)
    nodes = list(schematic.nodes)
    members: dict[int, list[int]] = {}  # a part with all below it, where that is a tree that may be folded
    looks: dict[int, Hashable] = {}
    known: dict[Hashable, int] = {}
    gone: set[int] = set()
    outlets: dict[int, str | None] = {}
    for here in ways.upwards:
        links = ways.out[here]
        kept = _fold_below(here, ways, nodes, members, looks, gone, outlets)
        tree = all(link.target in members and ways.ins[link.target] == 1 for link in links)
        if tree and nodes[here].name not in keep and not nodes[here].over:
            members[here] = [here, *(part for link in kept for part in members[link.target])]
            below = tuple((looks[link.target], _rounded(link.torque), _rounded(link.speed)) for link in kept)
            look = (_look(nodes[here]), below)
            looks[here] = known.setdefault(look, len(known))
    roots = [number for number in range(len(nodes)) if not ways.ins[number] and number in members]
    _fold_group(roots, nodes, members, looks, gone)
    kept_parts = set(range(len(nodes))) - gone
    links_shown = tuple(link._replace(outlet=outlets.get(link.target, link.outlet)) for link in schematic.links)
    return without(schematic._replace(nodes=tuple(nodes), links=links_shown), kept_parts)


def _fold_below(
    here: int,
    ways: _Ways,
    nodes: list[Node],
    members: Mapping[int, list[int]],
    looks: Mapping[int, Hashable],
    gone: set[int],
    outlets: dict[int, str | None],
) -> list[Link]:
    """Fold what is alike below a part; the links that stay."""
    by_look: dict[Hashable, list[Link]] = {}
    for link in ways.out[here]:
        if link.target in members and ways.ins[link.target] == 1:
            look = (looks[link.target], _rounded(link.torque), _rounded(link.speed))
            by_look.setdefault(look, []).append(link)
    for links in by_look.values():
        if len(links) > 1:
            _fold_group([link.target for link in links], nodes, members, looks, gone)
            outlets[links[0].target] = ", ".join(link.outlet for link in links if link.outlet is not None) or None
    return [link for link in ways.out[here] if link.target not in gone]


def _fold_group(
    heads: list[int],
    nodes: list[Node],
    members: Mapping[int, list[int]],
    looks: Mapping[int, Hashable],
    gone: set[int],
) -> None:
    """Fold trees that look alike into the first of them, part by part."""
    groups: dict[Hashable, list[int]] = {}
    for head in heads:
        groups.setdefault(looks[head], []).append(head)
    for first, *others in groups.values():
        for at, part in enumerate(members[first]) if others else ():
            twins = [members[other][at] for other in others]
            names = tuple(name for twin in twins for name in (nodes[twin].name, *nodes[twin].stands_for))
            alike = nodes[part].alike + sum(nodes[twin].alike for twin in twins)
            nodes[part] = nodes[part]._replace(alike=alike, stands_for=(*nodes[part].stands_for, *names))
            gone.update(twins)


def _look(node: Node) -> Hashable:
    share = None if node.share is None else _rounded(node.share)
    facts = tuple(tuple(map(_plain, fact.words)) for fact in node.facts)
    kind = (node.item, node.figure, node.does, node.alike)
    return kind, share, node.quantity, node.solved, node.when, facts, node.turns


def _plain(piece: str | Measure) -> Hashable:
    if isinstance(piece, str) or not isinstance(piece.value, float):
        return piece
    return _rounded(piece.value), piece.unit


def _rounded(value: float) -> float:
    return float(f"{value:.{_CLOSE}g}")


def _blueprint_folded(schematic: Schematic, name: str, keep: frozenset[str]) -> Schematic:
    """A blueprint in place as one part; as it was where a finding stands in it or something is over a limit."""
    frame = next((one for one in schematic.frames if one.name == name), None)
    if frame is None or len(frame.nodes) < 2:
        return schematic
    inside = [schematic.nodes[number] for number in frame.nodes]
    if any(node.over or not node.solved or not keep.isdisjoint((node.name, *node.stands_for)) for node in inside):
        return schematic
    first = frame.nodes[0]
    into = dict.fromkeys(frame.nodes, first)
    nodes = list(schematic.nodes)
    nodes[first] = _as_one(frame, inside)
    links = tuple(
        link._replace(source=into.get(link.source, link.source), target=into.get(link.target, link.target))
        for link in schematic.links
        if not (link.source in into and link.target in into)
    )
    frames = tuple(one for one in schematic.frames if one.name != name and not one.name.startswith(f"{name}/"))
    whole = schematic._replace(nodes=tuple(nodes), links=links, frames=frames)
    return without(whole, set(range(len(nodes))) - set(frame.nodes[1:]))


def _as_one(frame: Frame, inside: list[Node]) -> Node:
    worst = max(inside, key=lambda node: node.share or 0.0)
    names = tuple(name for node in inside for name in (node.name, *node.stands_for))
    machines = sum(node.alike for node in inside if node.figure == "driven-machine")
    parts = sum(node.alike for node in inside)
    does = f"{parts} parts, {machines} machine{'s' if machines != 1 else ''}"
    shown = worst._replace(name=frame.name, label=None, item=frame.file, figure="blueprint", does=(does,))
    return shown._replace(facts=(), alike=1, stands_for=names)
