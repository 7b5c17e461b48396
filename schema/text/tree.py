"""The located tree: plain data, and for every key and scalar in it the span where it is written.

Spans are kept in flat arrays in the order of the text (a mapping, its first key, that key's value, ...), so that a
file of 100,000 parts costs a few bytes a node; a place is looked up only when a finding needs it.
"""

from array import array
from dataclasses import dataclass, field
from typing import cast

from lineshaft.schema.text.span import Route, Span
from lineshaft.schema.text.text import SourceText

Plain = str | int | float | bool | None | list["Plain"] | dict[str, "Plain"]
"""What a file holds once read: YAML's core types, keys as text, as written."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Tree:
    """A read file, equal to itself alone.

    ``layout`` is what stands in the text where ``data`` leaves some of it out, else nothing.
    ``starts``, ``ends`` hold each node's first and behind-last character, ``sizes`` its nodes.
    """

    source: SourceText
    data: Plain
    starts: "array[int]"
    ends: "array[int]"
    sizes: "array[int]"
    layout: Plain = None
    _children: dict[int, dict[str | int, int]] = field(default_factory=dict, repr=False, compare=False)

    def at(self, route: Route) -> Plain:
        """The value that ``route`` leads to, as written; none where there is none."""
        held = self.data
        for step in route:
            in_list = isinstance(held, list) and isinstance(step, int) and step < len(held)
            if not in_list and not (isinstance(held, dict) and step in held):
                return None
            held = held[step]  # type: ignore[index]
        return held

    def span(self, route: Route) -> Span:
        """Where the value that ``route`` leads to is written; the nearest value above it where it is missing."""
        return self.source.span(*self.slice(route))

    def key_span(self, route: Route) -> Span:
        """Where the key of the value that ``route`` leads to is written; entries of lists have their own span."""
        return self.source.span(*self.key_slice(route))

    def slice(self, route: Route) -> tuple[int, int]:
        """First and behind-last character index of the value that ``route`` leads to."""
        node, _ = self._find(route)
        return self.starts[node], self.ends[node]

    def key_slice(self, route: Route) -> tuple[int, int]:
        """First and behind-last character index of the key of the value that ``route`` leads to."""
        node, key = self._find(route)
        chosen = node if key is None else key
        return self.starts[chosen], self.ends[chosen]

    def entry_slices(self, route: Route) -> list[tuple[int, int, int]]:
        """First character of the key, first and behind-last of the value of each entry that stands at ``route``.

        Entries of a list have no key: they begin where their value does. Inside an alias there are none.
        """
        node, _ = self._find(route)
        data = self.at(route)
        key = 1 if isinstance(data, dict) else 0
        starts, ends = self.starts, self.ends
        return [(starts[at - key], starts[at], ends[at]) for at in self._below(node, data).values()]

    def route_at(self, index: int) -> tuple[Route, bool]:
        """The route to the innermost value that is written around a character, and whether that is in its key.

        A character just behind a value counts as in it.
        """
        node, data, route = 0, self.data if self.layout is None else self.layout, cast(Route, ())
        while True:
            below = self._below(node, data)
            inner = None
            for step, child in below.items():
                if isinstance(data, dict) and self.starts[child - 1] <= index <= self.ends[child - 1]:
                    return (*route, step), True
                if self.starts[child] <= index <= self.ends[child]:
                    inner = step, child
                if self.starts[child] > index:
                    break
            if inner is None:
                return route, False
            step, node = inner
            route = (*route, step)
            data = data[step]  # type: ignore[index]

    def written(self, route: Route) -> str:
        """The characters of the value that ``route`` leads to, as they stand in the file."""
        start, end = self.slice(route)
        return self.source.text[start:end]

    def _find(self, route: Route) -> tuple[int, int | None]:
        node, key, data = 0, None, self.data if self.layout is None else self.layout
        for step in route:
            child = self._below(node, data).get(step)
            if child is None:
                break
            if isinstance(data, dict):
                node, key = child, child - 1
                data = data[cast(str, step)]
            else:
                node, key = child, None
                data = cast(list[Plain], data)[cast(int, step)]
        return node, key

    def _below(self, node: int, data: Plain) -> dict[str | int, int]:
        known = self._children.get(node)
        if known is not None:
            return known
        found: dict[str | int, int] = {}
        # An alias is one node that stands for many: what is inside it has the alias's own place.
        if self.sizes[node] > 1:
            at = node + 1
            if isinstance(data, dict):
                for name in data:
                    found[name] = at + 1
                    at += 1 + self.sizes[at + 1]
            else:
                for number in range(len(cast(list[Plain], data))):
                    found[number] = at
                    at += self.sizes[at]
        self._children[node] = found
        return found
