"""The links of a net that close a ring: without them every link leads from one column to a later one."""

from collections.abc import Sequence


def closing(count: int, links: Sequence[tuple[int, int]]) -> frozenset[int]:
    """The numbers of the links (source, target) that lead back to a vertex on the way to them, in depth-first order."""
    below: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    for number, (source, target) in enumerate(links):
        below[source].append((number, target))
    state = bytearray(count)  # 0 not met, 1 on the way, 2 done
    found = set()
    for start in range(count):
        way = [] if state[start] else [(start, iter(below[start]))]
        state[start] = state[start] or 1
        while way:
            here, rest = way[-1]
            step = next(rest, None)
            if step is None:
                state[here] = 2
                way.pop()
            elif state[step[1]] == 1:
                found.add(step[0])
            elif state[step[1]] == 0:
                state[step[1]] = 1
                way.append((step[1], iter(below[step[1]])))
    return frozenset(found)
