"""Where lines leave and enter a box: side by side, so that several into one part never share an arrowhead."""

from collections.abc import Sequence
from typing import NamedTuple

from lineshaft.write.drawing.geometry import Net

_APART = 24.0
_EDGE = 12.0


class Ports(NamedTuple):
    """Of each link how far from the middle of its source and of its target it leaves and arrives [px]."""

    out: list[float]
    into: list[float]


def ports_of(net: Net, heights: Sequence[float], rows: Sequence[float]) -> Ports:
    """The ports of every link, in the order of what stands at its other end; rings keep to the middle."""
    ports = Ports([0.0] * len(net.paths), [0.0] * len(net.paths))
    outgoing: dict[int, list[int]] = {}
    incoming: dict[int, list[int]] = {}
    for number, path in enumerate(net.paths):
        if number not in net.rings:
            outgoing.setdefault(path[0], []).append(number)
            incoming.setdefault(path[-1], []).append(number)
    for part, links in outgoing.items():
        _set(ports.out, sorted(links, key=lambda link: rows[net.paths[link][1]]), heights[part])
    for part, links in incoming.items():
        _set(ports.into, sorted(links, key=lambda link: rows[net.paths[link][-2]]), heights[part])
    return ports


def _set(offsets: list[float], links: Sequence[int], height: float) -> None:
    apart = min(_APART, max(0.0, height - 2 * _EDGE) / max(1, len(links) - 1))
    for at, link in enumerate(links):
        offsets[link] = (at - (len(links) - 1) / 2) * apart
