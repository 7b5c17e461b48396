"""A change of a rig on paper: settings, drivers, new parts, parts taken out; written as edits all at once.

Drafts add up, so that moves combine: what they say of one setting must agree. What a new or changed part needs besides
(its direction set and its lubricant filled before the start, its place on a circuit) is written with it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from lineshaft.check.finding import Edit
from lineshaft.repair.edits.entries import drop_entries, without_entries, without_entry
from lineshaft.repair.edits.parts import (
    Entry,
    add_parts,
    lead_out,
    set_feed,
    set_inlet,
    set_key,
    without_key,
)
from lineshaft.repair.edits.start_up_steps import Turned, fed, start_edits
from lineshaft.repair.strategies.segments import entry_of, feed_of, is_own
from lineshaft.schema.model.catalogue import Direction, Item
from lineshaft.schema.text.span import Route
from lineshaft.solve.places import are_neighbours, way_between
from lineshaft.solve.solved_rig import SolvedRig


class Fresh(NamedTuple):
    """A new part: its text, the part it is written behind, its item and direction, and a part it is oiled like.

    Behind a part of a blueprint's file it is written behind the line that puts the blueprint in place.
    """

    entry: Entry
    after: int
    item: Item
    direction: Direction | None = None
    like: int | None = None

    @property
    def name(self) -> str:
        """Its name."""
        return self.entry[0]


@dataclass(slots=True, eq=False, repr=False)
class Draft:
    """What changes. ``settings`` by part and key (none: the key goes), ``inlets`` by part and inlet.

    The inlet of a part in a placed blueprint is changed where the rig says what feeds the blueprint there.

    ``leads`` are a blueprint's outlets that another part leads to, by their names; ``items`` and ``directions`` what
    parts that stay become. ``sweeps``: readings and waivers of parts that go, go with them; else such parts stay.
    """

    rig: SolvedRig
    settings: dict[tuple[int, str], str | None] = field(default_factory=dict)
    inlets: dict[tuple[int, int], str] = field(default_factory=dict)
    fresh: list[Fresh] = field(default_factory=list)
    gone: set[int] = field(default_factory=set)
    items: dict[int, Item] = field(default_factory=dict)
    directions: dict[int, Direction] = field(default_factory=dict)
    leads: dict[str, str] = field(default_factory=dict)
    sweeps: bool = False

    @property
    def touched(self) -> set[int]:
        """The parts whose text changes."""
        return {n for n, _ in self.settings} | {n for n, _ in self.inlets} | self.gone

    @property
    def opens_gap(self) -> bool:
        """Whether it leads a part to one that it does not stand next to, though it stands next to what drives it now.

        Where both are known; `layout-gap` finds it.
        """
        return any(self._apart(number, inlet, text) for (number, inlet), text in self.inlets.items())

    def _apart(self, number: int, inlet: int, text: str) -> bool:
        rig = self.rig
        part, above = rig.parts[number], rig.rig.index.get(text.partition(".")[0])
        if part.at is None or above is None or inlet >= len(part.inlets):
            return False
        now = way_between(rig.parts[part.inlets[inlet][0]].at, part.at)
        then = way_between(rig.parts[above].at, part.at)
        return then is not None and not are_neighbours(then) and (now is None or are_neighbours(now))

    def free_name(self, wanted: str) -> str:
        """A name that nothing in the rig or the draft has: the one wanted, or with the next number."""
        taken = {fresh.name for fresh in self.fresh}
        index, placed = self.rig.rig.index, self.rig.rig.placed.names
        stem = wanted[:58]
        names = (stem if n == 1 else f"{stem}-{n}" for n in range(1, 10_000))
        return next(name for name in names if name not in taken and name not in index and name not in placed)

    def next_name(self, stem: str) -> str:
        """A name for one more of a kind: step, step-2, step-3."""
        bare, _, number = stem.rpartition("-")
        return self.free_name(bare if bare and number.isdigit() else stem)

    def joined(self, other: "Draft") -> "Draft | None":
        """Both changes together; none where they say different things of one place or name."""
        for mine, theirs in ((self.settings, other.settings), (self.inlets, other.inlets), (self.leads, other.leads)):
            shared = mine.keys() & theirs.keys()
            if any(mine[key] != theirs[key] for key in shared):  # type: ignore[index]
                return None
        if self.gone & other.touched or other.gone & self.touched:
            return None
        if {fresh.name for fresh in self.fresh} & {fresh.name for fresh in other.fresh}:
            return None
        return Draft(
            self.rig,
            {**self.settings, **other.settings},
            {**self.inlets, **other.inlets},
            [*self.fresh, *other.fresh],
            self.gone | other.gone,
            {**self.items, **other.items},
            {**self.directions, **other.directions},
            {**self.leads, **other.leads},
            self.sweeps or other.sweeps,
        )

    def edits(self) -> tuple[Edit, ...] | None:
        """The edits; none where a part is written in another file, or its text cannot be changed neatly."""
        if not self._written_here():
            return None
        found = [*self._structure(), *start_edits(self.rig, self._turned(), self.gone)]
        return None if any(one is None for one in found) else tuple(one for one in found if one is not None)

    def unstarted(self) -> tuple[Edit, ...] | None:
        """The same without what it asks of the start-up and of lubricant, for who writes a list of its own.

        Of a rig that places no blueprint, with nothing that goes.
        """
        found = list(self._structure())
        return None if any(one is None for one in found) else tuple(one for one in found if one is not None)

    def cleared(self) -> tuple[Edit, ...] | None:
        """The same without the start-up list, and with nothing of what goes left on circuits."""
        found = [*self._structure(), *fed(self.rig, {}, self.gone)]
        if self.rig.rig.tree.at(("commissioning",)) is not None:
            found.append(without_entry(self.rig.rig.tree, ("commissioning",)))
        return None if any(one is None for one in found) else tuple(one for one in found if one is not None)

    def _structure(self) -> Iterator[Edit | None]:
        yield from self._settings()
        yield from self._places()
        yield from self._removed()

    def _written_here(self) -> bool:
        """Whether all that changes is written in the rig's own file."""
        rig = self.rig
        own = all(is_own(rig, n) for n in {n for n, _ in self.settings} | self.gone)
        fed = all(is_own(rig, inlet[0]) or feed_of(rig, inlet) is not None for inlet in self.inlets)
        return own and fed and all(entry_of(rig, fresh.after) is not None for fresh in self.fresh)

    def _settings(self) -> Iterator[Edit | None]:
        parts = self.rig.parts
        for (number, key), text in self.settings.items():
            if text is not None:
                yield set_key(parts[number], key, text)
            elif key in _written(self.rig, number):
                yield without_key(parts[number], key)
        for (number, inlet), text in self.inlets.items():
            feed = feed_of(self.rig, (number, inlet))
            yield set_inlet(parts[number], inlet, text) if feed is None else set_feed(self.rig.rig.tree, feed, text)
        for outlet, text in self.leads.items():
            yield lead_out(self.rig.rig.tree, outlet, text)

    def _places(self) -> Iterator[Edit]:
        """New parts, those behind the same part in one edit."""
        behind: dict[Route, list[Entry]] = {}
        for fresh in self.fresh:
            behind.setdefault(entry_of(self.rig, fresh.after) or (), []).append(fresh.entry)
        for route, entries in behind.items():
            yield from add_parts(self.rig.rig.tree, route, entries)

    def _removed(self) -> Iterator[Edit | None]:
        rig, tree = self.rig.rig, self.rig.rig.tree
        if not all(_unnamed(self.rig, number, self.sweeps) for number in self.gone):
            yield None
        names = [rig.parts[number].route[-1] for number in sorted(self.gone)]
        if names:
            yield from without_entries(tree, ("parts",), names) or (None,)
        yield from drop_entries(tree, ("readings",), [r.route[-1] for r in rig.readings if r.part in self.gone])
        yield from drop_entries(tree, ("waivers",), [w.route[-1] for w in rig.waivers if w.part in names])

    def _turned(self) -> list[Turned]:
        """Every part whose start-up may be another: new ones, and those of another item or direction."""
        found = [Turned(fresh.name, fresh.item, fresh.direction, None, fresh.like) for fresh in self.fresh]
        for number in sorted(self.items.keys() | self.directions.keys()):
            part = self.rig.parts[number]
            item, direction = self.items.get(number, part.item), self.directions.get(number, part.direction)
            found.append(Turned(part.name, item, direction, number, number))
        return found


def _written(rig: SolvedRig, number: int) -> Iterable[str]:
    data = rig.parts[number].tree.at(rig.parts[number].route)
    return data if isinstance(data, dict) else ()


def _unnamed(rig: SolvedRig, number: int, sweeps: bool) -> bool:
    """Whether a part may go: no circuit's press, and no reading or waiver hangs on it unless those go with it."""
    name = rig.parts[number].name
    if any(circuit.supplied_by == number for circuit in rig.rig.circuits):
        return False
    named = any(reading.part == number for reading in rig.rig.readings) or any(w.part == name for w in rig.rig.waivers)
    return sweeps or not named
