"""A located tree after edits, read again only where they touch it: whole entries of a section (a part, a step).

Everything else is the old tree with its places moved. Where that cannot be done so that nothing is lost (anchors, a key
outside the sections, text that does not read) there is no edited tree, and the file has to be read whole.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple, cast

from lineshaft.repair.edits.splice import Splice, spliced
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.text import SourceText
from lineshaft.schema.text.tree import Plain, Tree
from lineshaft.schema.text.yaml_pass import Bounds
from lineshaft.schema.text.yaml_reader import read_yaml

SECTIONS = ("parts", "lubrication", "commissioning")
"""The sections whose entries are read again one by one."""
Entry = str | int


class Piece(NamedTuple):
    """An entry that was read again: its tree, its key there, and what its places have to be moved by."""

    tree: Tree
    key: Entry
    offset: int


class Shift:
    """How far the places of a text move with some splices."""

    __slots__ = ("_moved", "_starts")

    def __init__(self, splices: Sequence[Splice]) -> None:
        self._starts = [splice.start for splice in splices]
        self._moved = [0]
        for splice in splices:
            self._moved.append(self._moved[-1] + len(splice.text) - (splice.end - splice.start))

    def start(self, at: int) -> int:
        """Where what began at a character begins now; what was put in just there belongs to it."""
        return at + self._moved[bisect_left(self._starts, at)]

    def end(self, at: int) -> int:
        """Where what ended before a character ends now; what was put in just there belongs to it."""
        return at + self._moved[bisect_right(self._starts, at)]


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class EditedTree(Tree):
    """A tree after edits. ``again`` are the entries read again, by section and key (in lists: new position).

    ``gone`` are the keys of the entries that were read again as they were before; ``positions`` leads, in edited lists,
    from the new position of an entry to its old one, none where it was read again.
    """

    old: Tree = field(kw_only=True)
    shift: Shift = field(kw_only=True)
    again: Mapping[tuple[str, Entry], Piece] = field(kw_only=True)
    gone: Mapping[str, frozenset[Entry]] = field(kw_only=True)
    positions: Mapping[str, tuple[int | None, ...]] = field(kw_only=True)

    def slice(self, route: Route) -> tuple[int, int]:
        """As of any tree."""
        return self._slice(route, keys=False)

    def key_slice(self, route: Route) -> tuple[int, int]:
        """As of any tree."""
        return self._slice(route, keys=True)

    def entry_slices(self, route: Route) -> list[tuple[int, int, int]]:
        """As of any tree."""
        held = self.at(route)
        below: list[Route] = [(*route, step) for step in (held if isinstance(held, dict) else range(len(held)))]  # type: ignore[arg-type]
        return [(self.key_slice(each)[0], *self.slice(each)) for each in below]

    def _slice(self, route: Route, *, keys: bool) -> tuple[int, int]:
        if len(route) > 1:
            section, entry = str(route[0]), route[1]
            piece = self.again.get((section, entry))
            if piece is not None:
                inner: Route = (piece.key, *route[2:])
                start, end = piece.tree.key_slice(inner) if keys else piece.tree.slice(inner)
                return start + piece.offset, end + piece.offset
            positions = self.positions.get(section)
            if positions is not None and isinstance(entry, int) and entry < len(positions):
                route = (section, cast(int, positions[entry]), *route[2:])
            elif not _holds(self.data, section, entry):
                route = route[:1]
        start, end = self.old.key_slice(route) if keys else self.old.slice(route)
        return self.shift.start(start), self.shift.end(end)


def _holds(data: Plain, section: str, entry: Entry) -> bool:
    inside = data.get(section) if isinstance(data, dict) else None
    if isinstance(inside, dict):
        return entry in inside
    return isinstance(inside, list) and isinstance(entry, int) and entry < len(inside)


class _Row(NamedTuple):
    """An entry of a section: its key or position, its value, and where it was read again."""

    key: Entry
    value: Plain
    piece: Piece | None = None


class Section(NamedTuple):
    """A section of a tree as text: where it begins and ends, and the same for each of its entries with their keys."""

    name: str
    start: int
    end: int
    flow: bool
    starts: tuple[int, ...]
    ends: tuple[int, ...]
    rows: tuple[_Row, ...]


def sections_of(tree: Tree) -> tuple[Section, ...]:
    """The sections of a tree that edits may touch entry by entry."""
    found = (_section(tree, name) for name in SECTIONS)
    return tuple(section for section in found if section is not None)


def _section(tree: Tree, name: str) -> Section | None:
    data = tree.data.get(name) if isinstance(tree.data, dict) else None
    if not isinstance(data, dict | list) or not data:
        return None
    keys: list[Entry] = list(data) if isinstance(data, dict) else list(range(len(data)))
    start, end = tree.slice((name,))
    text = tree.source.text
    if text[start] in "&!*":
        return None  # of an alias what is inside stands elsewhere
    flow = text[start] in "{["
    slices = tree.entry_slices((name,))
    starts = [first for first, _, _ in slices]
    if isinstance(data, list) and not flow:
        starts = [text.rfind("-", start, at) if at > start else at for at in starts]
        if any(text[dash + 1 : at].strip(" ") for dash, (_, at, _) in zip(starts, slices, strict=True)):
            return None  # a comment or a line break between the dash and its entry
    ends = [end for _, _, end in slices]
    rows = tuple(_Row(key, data[key]) for key in keys)  # type: ignore[index]
    return Section(name, start, end, flow, tuple(starts), tuple(ends), rows)


def edited_tree(
    tree: Tree, sections: Sequence[Section], splices: Sequence[Splice], bounds: Bounds
) -> EditedTree | None:
    """The tree with splices made in the entries of its sections; none where only reading the whole text will do.

    Raises OverlapError where splices overlap.
    """
    ordered = sorted(splices)
    old = tree.source
    text = spliced(old.text, ordered)
    source = SourceText(old.path, old.shown, text, old.has_bom)
    shift = Shift(ordered)
    regions = _regions(sections, ordered)
    if regions is None:
        return None
    data = dict(cast(dict[str, Plain], tree.data))
    again: dict[tuple[str, Entry], Piece] = {}
    gone: dict[str, frozenset[Entry]] = {}
    positions: dict[str, tuple[int | None, ...]] = {}
    for section, touched in regions.values():
        rows = list(section.rows)
        for first, last, inner in reversed(touched):
            read = _read_again(old, section, (first, last), inner, shift, bounds)
            if read is None:
                return None
            rows[first : last + 1] = read
        name = section.name
        gone[name] = frozenset(section.rows[n].key for first, last, _ in touched for n in range(first, last + 1))
        if isinstance(data[name], list):
            data[name] = [row.value for row in rows]
            positions[name] = tuple([row.key if row.piece is None else None for row in rows])  # type: ignore[misc]
            again.update(((name, at), row.piece) for at, row in enumerate(rows) if row.piece is not None)
        else:
            named = {row.key: row.value for row in rows}
            data[name] = named  # type: ignore[assignment]
            if len(named) < len(rows):
                return None
            again.update(((name, row.key), row.piece) for row in rows if row.piece is not None)
    more = {"old": tree, "shift": shift, "again": again, "gone": gone, "positions": positions}
    return EditedTree(source, data, tree.starts, tree.ends, tree.sizes, **more)  # type: ignore[arg-type]


_Run = tuple[int, int, list[Splice]]
"""Entries next to one another, from the first to the last, and the splices that touch them."""


def _regions(sections: Sequence[Section], splices: Sequence[Splice]) -> dict[str, tuple[Section, list[_Run]]] | None:
    """By section the runs of entries that the splices touch; none where one touches something else."""
    found: dict[str, tuple[Section, list[_Run]]] = {}
    for splice in splices:
        section = next((s for s in sections if s.start <= splice.start and splice.end <= s.end), None)
        if section is None or not _added_to(section, splice, found.setdefault(section.name, (section, []))[1]):
            return None
    return found


def _added_to(section: Section, splice: Splice, regions: list[_Run]) -> bool:
    """Put a splice to the run of entries that it touches, joined with the run before where they meet."""
    first = bisect_right(section.starts, splice.start) - 1
    last = bisect_left(section.ends, splice.end)
    if first < 0 or last >= len(section.ends):
        return False
    last = max(first, last)
    if regions and regions[-1][1] >= first:
        start, end, inner = regions[-1]
        regions[-1] = (start, max(end, last), [*inner, splice])
    else:
        regions.append((first, last, [splice]))
    return True


def _read_again(
    source: SourceText, section: Section, run: tuple[int, int], splices: Sequence[Splice], shift: Shift, bounds: Bounds
) -> list[_Row] | None:
    """The entries of a run as they read after its splices; none where they do not read as a run of entries."""
    start, end = section.starts[run[0]], section.ends[run[1]]
    was = source.text[start:end]
    now = spliced(was, [Splice(s.start - start, s.end - start, s.text) for s in splices])
    if "&" in was or "&" in now:
        return None
    is_list = isinstance(section.rows[0].key, int)
    if section.flow:
        before, after = "[]" if is_list else "{}"
    else:
        before, after = " " * (source.position(start).column - 1), "\n"
    tree = read_yaml(SourceText(source.path, source.shown, before + now + after), bounds)
    if isinstance(tree, tuple) or (tree.data is not None and isinstance(tree.data, list) != is_list):
        return None
    offset = shift.start(start) - len(before)
    read = tree.data
    if isinstance(read, list):
        return [_Row(n, value, Piece(tree, n, offset)) for n, value in enumerate(read)]
    if isinstance(read, dict):
        return [_Row(key, value, Piece(tree, key, offset)) for key, value in read.items()]
    return [] if read is None else None


def excerpt_of(tree: EditedTree) -> dict[str, object]:
    """The file as far as it was read again: what its schema has to see, since it sees each entry by itself."""
    data = tree.data
    assert isinstance(data, dict)
    shown: dict[str, object] = {"rig": 1, "catalogue": "x"}
    for (section, key), piece in tree.again.items():
        value = piece.tree.data[piece.key]  # type: ignore[index]
        if isinstance(data[section], dict):
            shown.setdefault(section, {})[key] = value  # type: ignore[index]
        else:
            shown.setdefault(section, []).append(value)  # type: ignore[attr-defined]
    if "parts" not in shown:
        parts = data["parts"]
        if not isinstance(parts, dict) or not parts:
            return {}
        shown["parts"] = dict([next(iter(parts.items()))])
    return shown
