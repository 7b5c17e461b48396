"""Where everything stands on the sheet: each train laid out by itself, then the trains in rows."""

from collections import Counter
from collections.abc import Iterator, Sequence
from math import sqrt

from lineshaft.write.drawing.geometry import Box, Group, Net, Placed, Points, Size
from lineshaft.write.drawing.layers import BESIDE, PAD, ROUTE, ROW_GAP, across, net_of

_BETWEEN = 44.0
_ASPECT = 1.41
"""Width by height of the sheets of ISO 216, lying."""



def placed(
    parts: Sequence[Size], links: Sequence[tuple[int, int]], labels: Sequence[Size], groups: Sequence[Group] = ()
) -> Placed:
    """Places for parts and labels.

    Power runs down the page or across it, from left to right, whichever makes the narrower page. What is not connected
    stands side by side, in rows about as wide as a sheet that lies.
    """
    trains = _trains(len(parts), links)
    nets = [_net(train, links) for train in trains]
    largest = max(range(len(trains)), key=lambda n: len(trains[n].parts), default=None)
    down = largest is not None and _down_is_narrower(
        nets[largest], [parts[n] for n in trains[largest].parts], [labels[n] for n in trains[largest].links]
    )
    laid = []
    for train, net in zip(trains, nets, strict=True):
        sizes, texts = [parts[n] for n in train.parts], [labels[n] for n in train.links]
        laid.append((_down if down else across)(net, sizes, texts, _own(train, groups)))
    return _packed(trains, laid, len(parts), len(links), len(groups), down)


class _Train:
    """Parts that hang together, their links, and where each stands among them; in file order."""

    def __init__(self) -> None:
        self.parts: list[int] = []
        self.links: list[int] = []
        self.at: dict[int, int] = {}
        self.groups: list[int] = []


def _trains(count: int, links: Sequence[tuple[int, int]]) -> list[_Train]:
    near: list[list[int]] = [[] for _ in range(count)]
    for source, target in links:
        near[source].append(target)
        near[target].append(source)
    train_of = [-1] * count
    trains: list[_Train] = []
    for start in range(count):
        if train_of[start] >= 0:
            continue
        train_of[start] = len(trains)
        waiting = [start]
        for here in waiting:
            for there in near[here]:
                if train_of[there] < 0:
                    train_of[there] = len(trains)
                    waiting.append(there)
        trains.append(_Train())
    for part, number in enumerate(train_of):
        train = trains[number]
        train.at[part] = len(train.parts)
        train.parts.append(part)
    for link, (source, _) in enumerate(links):
        trains[train_of[source]].links.append(link)
    return trains


def _net(train: _Train, links: Sequence[tuple[int, int]]) -> Net:
    return net_of(len(train.parts), [(train.at[links[n][0]], train.at[links[n][1]]) for n in train.links])


def _own(train: _Train, groups: Sequence[Group]) -> list[Group]:
    """The groups that lie in a train, in its numbers."""
    train.groups = [number for number, group in enumerate(groups) if group.parts and group.parts <= train.at.keys()]
    return [groups[n]._replace(parts=frozenset(train.at[part] for part in groups[n].parts)) for n in train.groups]


def _down(net: Net, parts: Sequence[Size], labels: Sequence[Size], groups: Sequence[Group]) -> Placed:
    """Across with the axes changed; a label stands beside its line then, so its cell is twice as wide."""
    turned = [Size(size.height, size.width) for size in parts]
    beside = [Size(size.height, 2 * (size.width + BESIDE)) for size in labels]
    found = across(net, turned, beside, groups)
    return Placed(
        tuple(Box(box.top, box.left, box.height, box.width) for box in found.boxes),
        tuple(
            Box(box.middle + BESIDE, box.left, size.width, size.height)
            for box, size in zip(found.labels, labels, strict=True)
        ),
        tuple(tuple((y, x) for x, y in line) for line in found.lines),
        found.height,
        found.width,
        True,
        tuple(tuple((y, x) for x, y in frame) for frame in found.frames),
    )


def _down_is_narrower(net: Net, parts: Sequence[Size], labels: Sequence[Size]) -> bool:
    widest = max((size.width for size in parts), default=0.0)
    label = max((size.width for size in labels), default=0.0)
    abreast = Counter(net.layer)  # bends too: a line that passes takes room
    down = max(abreast.values(), default=0) * (widest + ROW_GAP)
    return down <= len(abreast) * (widest + label + 2 * PAD + ROUTE)


def _packed(
    trains: Sequence[_Train], laid: Sequence[Placed], parts: int, links: int, groups: int, down: bool
) -> Placed:
    """The trains in rows, in the order of the file."""
    boxes: list[Box] = [Box(0, 0, 0, 0)] * parts
    labels: list[Box] = [Box(0, 0, 0, 0)] * links
    lines: list[Points] = [()] * links
    frames: list[Points] = [()] * groups
    area = sum((one.width + _BETWEEN) * (one.height + _BETWEEN) for one in laid)
    widest = max([*(one.width for one in laid), min(sqrt(area * _ASPECT), sum(one.width + _BETWEEN for one in laid))])
    width = height = 0.0
    for train, one, (x, y) in zip(trains, laid, _shelves(laid, max(widest, 0.0)), strict=True):
        for at, part in enumerate(train.parts):
            boxes[part] = _moved_box(one.boxes[at], x, y)
        for at, link in enumerate(train.links):
            labels[link] = _moved_box(one.labels[at], x, y)
            lines[link] = _moved(one.lines[at], x, y)
        for at, group in enumerate(train.groups):
            frames[group] = _moved(one.frames[at], x, y)
        width, height = max(width, x + one.width), max(height, y + one.height)
    return Placed(tuple(boxes), tuple(labels), tuple(lines), width, height, down, tuple(frames))


def _shelves(laid: Sequence[Placed], width: float) -> Iterator[tuple[float, float]]:
    x = y = tall = 0.0
    for one in laid:
        if x > 0 and x + one.width > width + 0.1:
            x, y, tall = 0.0, y + tall + _BETWEEN, 0.0
        yield x, y
        x, tall = x + one.width + _BETWEEN, max(tall, one.height)


def _moved_box(box: Box, x: float, y: float) -> Box:
    return Box(box.left + x, box.top + y, box.width, box.height)


def _moved(points: Points, x: float, y: float) -> Points:
    return tuple((left + x, top + y) for left, top in points)
