"""A layout written into the file of the rig that it is for: new parts, what drives them, and the machines driven."""

from dataclasses import dataclass, field

from lineshaft.design.proposal import Topology
from lineshaft.design.resolving import Branching, FedLine, Layout, MachineLine, Resolved
from lineshaft.design.wish import Wish
from lineshaft.repair.edits.splice import spliced, splices_of
from lineshaft.repair.strategies.draft import Draft, Fresh
from lineshaft.repair.strategies.line_design import Design, Slot
from lineshaft.repair.strategies.line_draft import LineWriter, reference
from lineshaft.repair.strategies.matching import places_of
from lineshaft.repair.strategies.segments import Line
from lineshaft.schema.text.scalar_text import scalar_text
from lineshaft.solve.solved_rig import SolvedRig


@dataclass(slots=True)
class Written:
    """A layout as a text, in words, and as what machines hang on what."""

    text: str
    title: str
    topology: Topology


@dataclass(slots=True)
class _Writer:
    """Writes a layout; ``after`` is the part that new ones are written behind."""

    rig: SolvedRig
    wish: Wish
    draft: Draft
    after: int = 0
    words: list[str] = field(default_factory=list)

    def fed(self, feed: FedLine) -> Topology:
        """One feed; what hangs on what."""
        ends = []
        for number, slots in feed.lines:
            source = self.wish.sources[number]
            self.after = source.part
            above = reference(self.rig, (source.part, source.outlet))
            end, said = self._line(slots, above, f"{self.rig.parts[source.part].name}-step")
            ends.append(end)
            self.words.append(f"{above}: {said}" if said else above)
        start = " with ".join(self.words[-len(ends) :])
        del self.words[-len(ends) :]
        above = self._gathered(ends, feed.combiners)
        said, below = self._below(feed.below, above)
        through = f", gathered by {feed.combiners[0].item.name}" if feed.combiners else ""
        self.words.append(f"{start}{through}: {said}")
        return (tuple(sorted(number for number, _ in feed.lines)), below)

    def _line(self, slots: tuple[Slot, ...], above: str, stem: str) -> tuple[str, str]:
        """A line; what drives what is below it, and the line in words."""
        line = Line((self.after, 0), (), None, (), 0.0, 0.0)
        writer = LineWriter(self.rig, line, {}, self.draft, above, self.after, stem=stem)
        places = iter(tuple(places_of(Design(slots, 0.0, 0))))
        for slot in slots:
            writer.slot(slot, places)
        return writer.above, ", ".join(_short(word) for word in writer.words)

    def _gathered(self, ends: list[str], combiners: tuple[Branching, ...]) -> str:
        if not combiners:
            return ends[0]
        groups = [ends] if len(combiners) == 1 else [ends[:2], *([end] for end in ends[2:])]
        above = ""
        for combiner, group in zip(combiners, groups, strict=True):
            drivers = ", ".join(scalar_text(end) for end in ([above] if above else []) + group)
            above = self._branching("gather", combiner, {"driven-by": f"[{drivers}]"})
        return above

    def _below(self, below: Resolved, above: str) -> tuple[str, Topology]:
        name = self.rig.parts[self._first(below)].name
        if isinstance(below, MachineLine):
            end, said = self._line(below.slots, above, f"{name}-step")
            self.draft.inlets[below.machine, 0] = end
            return f"{name} by {said}" if said else f"{name} straight", (below.machine,)
        end, said = self._line(below.slots, above, "step")
        outlets = [self.rig.parts[self._first(one)].name for one in below.below]
        pairs = zip(map(scalar_text, outlets), below.shares, strict=True)
        shares = ", ".join(f"{outlet}: {share:.12g}" for outlet, share in pairs)
        splitter = self._branching("divide", below.splitter, {"shares": f"{{{shares}}}", "driven-by": end})
        inner = [self._below(one, f"{splitter}.{o}") for one, o in zip(below.below, outlets, strict=True)]
        row = " : ".join(f"{share:.12g}" for share in below.shares)
        through = f"{said}, then {below.splitter.item.name}" if said else below.splitter.item.name
        words = f"{through} {row} to {'; '.join(one for one, _ in inner)}"
        return words, tuple(sorted((topology for _, topology in inner), key=repr))

    def _first(self, below: Resolved) -> int:
        """The most important machine below."""
        if isinstance(below, MachineLine):
            return below.machine
        return min(map(self._first, below.below))

    def _branching(self, wanted: str, made: Branching, keys: dict[str, str]) -> str:
        name = self.draft.free_name(wanted)
        grade = {} if made.grade is None else {"grade": made.grade}
        self.draft.fresh.append(Fresh((name, {"item": made.item.name, **grade, **keys}), self.after, made.item))
        return name


def _short(words: str) -> str:
    """What a line is, without where it is put and what it is called."""
    return words.removeprefix("put ").partition(", behind ")[0]


def written(rig: SolvedRig, wish: Wish, layout: Layout) -> Written | None:
    """A layout in the file's text, without lubricant and start-up; none where that cannot be changed neatly."""
    writer = _Writer(rig, wish, Draft(rig))
    topology = tuple(writer.fed(feed) for feed in layout.feeds)
    edits = writer.draft.unstarted()
    if edits is None:
        return None
    source = rig.rig.tree.source
    return Written(spliced(source.text, splices_of(source, edits)), "; ".join(writer.words), topology)


def topology_of(layout: Layout) -> Topology:
    """Which machines hang on which outlets, and how lines divide."""

    def below(one: Resolved) -> Topology:
        if isinstance(one, MachineLine):
            return (one.machine,)
        return tuple(sorted((below(inner) for inner in one.below), key=repr))

    return tuple((tuple(sorted(n for n, _ in feed.lines)), below(feed.below)) for feed in layout.feeds)
