"""A design of a line as a draft: which of its stages stand there already, which are new, and what that is called."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import reduce
from math import gcd
from typing import NamedTuple

from lineshaft.repair.line.trees import Branching
from lineshaft.repair.strategies.draft import Draft, Fresh
from lineshaft.repair.strategies.line_design import Design, Kept, SideBySide, Slot, Stage
from lineshaft.repair.strategies.matching import Kind, Place, kinds_of, matched, places_of, staying
from lineshaft.repair.strategies.segments import Line, entry_of, is_own
from lineshaft.repair.strategies.strength import Make, written_grade
from lineshaft.schema.model.rig import Part
from lineshaft.schema.text.scalar_text import scalar_text
from lineshaft.solve.solved_rig import SolvedRig


class Drafted(NamedTuple):
    """A draft with its title and what it changes."""

    draft: Draft
    title: str
    kinds: frozenset[Kind]


@dataclass(slots=True, eq=False, repr=False)
class LineWriter:
    """Writes one design; ``above`` drives the next part, ``after`` is the part that new ones are written behind.

    ``stem`` is what new parts are named after where no stage of the line says so.
    """

    rig: SolvedRig
    line: Line
    stays: dict[int, int]
    draft: Draft
    above: str
    after: int
    words: list[str] = field(default_factory=list)
    stem: str = ""

    def slot(self, slot: Slot, places: Iterator[Place]) -> None:
        """Write the next slot; ``places`` are those of its stages, in driving order."""
        if isinstance(slot, Kept):
            self.above = self._kept(slot, self.above)
        elif isinstance(slot, Stage):
            self.above = self._stage(next(places), self.above, "")
        else:
            self._side_by_side(slot, [e if isinstance(e, Kept) else next(places) for e in slot.elements])

    def _kept(self, kept: Kept, above: str) -> str:
        """A part that stays; its name."""
        self._connect(kept.part, above)
        if kept.make is not None:
            self._remake(kept.part, kept.make)
        self.after = kept.part
        return self.rig.parts[kept.part].name

    def end(self, end: Kept) -> None:
        """What the line ends at, as it is or in another make."""
        if end.make is not None:
            self._remake(end.part, end.make)

    def _copy(self, kept: Kept, wanted: str, above: str) -> str:
        """One more of a part that stays, in another of the lines side by side; its name."""
        part = self.rig.parts[kept.part]
        item = part.item if kept.make is None else kept.make.item
        grade = written_grade(part) if kept.make is None else kept.make.grade
        keys = {"item": item.name}
        if grade is not None:
            keys["grade"] = grade
        name = self.draft.free_name(wanted)
        self.draft.fresh.append(Fresh((name, {**keys, "driven-by": above}), self.after, item))
        return name

    def _stage(self, place: Place, above: str, wanted: str) -> str:
        """One stage, an old part or a new one; its name."""
        old = self.stays.get(place.number)
        if old is None:
            name = self.draft.free_name(wanted) if wanted else self.draft.next_name(self._stem(place.number))
            self._fresh(name, place.stage, above)
            if not wanted:
                self.words.append(f"put {_words(place.stage)}, {_behind(above)} as {name}")
            return name
        self._connect(old, above)
        self._change(old, place.stage)
        self.after = old
        return self.rig.parts[old].name

    def _stem(self, number: int) -> str:
        """What new parts are named after: the nearest stage that stays, or what the line leads to."""
        if self.stays:
            nearest = min(self.stays, key=lambda n: (abs(n - number), n))
            return self.rig.parts[self.stays[nearest]].name
        if self.stem:
            return self.stem
        end = self.line.end[0] if self.line.end is not None else self.line.parts[-1]
        entry = entry_of(self.rig, end)
        return f"{self.rig.parts[end].name if entry is None else entry[-1]}-step"

    def _fresh(self, name: str, stage: Stage, above: str) -> None:
        keys = {"item": stage.make.item.name}
        if stage.make.grade is not None:
            keys["grade"] = stage.make.grade
        keys |= {"ratio": stage.offer.ratio.text, "set": stage.direction, "driven-by": above}
        like = min(self.line.stages, default=None)
        self.draft.fresh.append(Fresh((name, keys), self.after, stage.make.item, stage.direction, like))

    def _connect(self, number: int, above: str) -> None:
        part = self.rig.parts[number]
        if _drivers(self.rig, part) != above:
            self.draft.inlets[number, 0] = above

    def _remake(self, number: int, make: Make) -> None:
        part = self.rig.parts[number]
        _make(self.draft, part, number, make)
        of = f" in {make.grade}" if make.grade is not None else ""
        same = make.item.name == part.item.name
        self.words.append(f"make {part.name}{of}" if same else f"take {make.item.name}{of} for {part.name}")

    def _change(self, number: int, stage: Stage) -> None:
        part, make = self.rig.parts[number], stage.make
        assert part.ratio is not None
        said: list[str] = []
        other_item = make.item.name != part.item.name
        other_ratio = stage.offer.ratio.terms != part.ratio.terms
        if other_item or make.grade != written_grade(part):
            _make(self.draft, part, number, make)
            said.append(make.item.name if other_item else "")
            said += ["in", make.grade] if make.grade is not None else []
        if other_ratio:
            self.draft.settings[number, "ratio"] = stage.offer.ratio.text
            said.append(f"{stage.offer.ratio.text} : 1")
        if stage.direction != part.direction:
            self.draft.settings[number, "set"] = stage.direction
            self.draft.directions[number] = stage.direction
        if said:
            what = " ".join(word for word in said if word)
            verb = f"take {what} for" if other_item else ("gear" if other_ratio else "make")
            self.words.append(f"{verb} {part.name}" if other_item else f"{verb} {part.name} {what}")
        if stage.direction != part.direction:
            self.words.append(f"set {part.name} to {stage.direction}")

    def _side_by_side(self, slot: SideBySide, elements: Sequence[Place | Kept]) -> None:
        places = [element for element in elements if isinstance(element, Place)]
        first = next((self.stays[p.number] for p in places if p.number in self.stays), None)
        if first is None:
            first = next((element.part for element in elements if isinstance(element, Kept)), None)
        stem = self.rig.parts[first].name if first is not None else self._stem(places[0].number)
        letters = "abcdefgh"[: slot.lines]
        ends = dict(self._divide(slot.divide, self.above, letters, f"{stem}-split"))
        each = ", then ".join(self._in_words(element) for element in elements)
        self.words.append(f"{slot.lines} lines side by side, each {each}, from {stem}-split to {stem}-gather")
        for letter in letters:
            for number, element in enumerate(elements):
                wanted = f"{stem}-{letter if len(elements) == 1 else f'{letter}{number + 1}'}"
                if isinstance(element, Kept):
                    first_line = letter == "a"
                    ends[letter] = (
                        self._kept(element, ends[letter]) if first_line else self._copy(element, wanted, ends[letter])
                    )
                elif letter == "a":
                    ends[letter] = self._stage(element, ends[letter], wanted)
                else:
                    name = self.draft.free_name(wanted)
                    self._fresh(name, element.stage, ends[letter])
                    ends[letter] = name
        self.above = self._gather(slot.gather, [ends[letter] for letter in letters], f"{stem}-gather")

    def _in_words(self, element: Place | Kept) -> str:
        if isinstance(element, Place):
            return _words(element.stage)
        part, make = self.rig.parts[element.part], element.make
        return part.item.name if make is None else make.item.name

    def _divide(self, tree: Branching[Make], above: str, letters: str, stem: str) -> Iterator[tuple[str, str]]:
        """The splitters of a tree; each line's letter with what drives it."""
        name = self.draft.free_name(stem)
        outlets: list[str] = []
        at = 0
        for lines in tree.lines:
            outlets.append(letters[at : at + lines])
            at += lines
        shares = ", ".join(f"{o}: {w}" for o, w in zip(outlets, weights(tree.lines), strict=True))
        self._branching(name, tree, {"shares": f"{{{shares}}}", "driven-by": above})
        for outlet, branch in zip(outlets, tree.below, strict=True):
            if branch is None:
                yield outlet, f"{name}.{outlet}"
            else:
                yield from self._divide(branch, f"{name}.{outlet}", outlet, f"{stem}-{outlet}")

    def _gather(self, tree: Branching[Make], ends: list[str], stem: str) -> str:
        drivers = []
        at = 0
        for lines, branch in zip(tree.lines, tree.below, strict=True):
            some = ends[at : at + lines]
            drivers.append(some[0] if branch is None else self._gather(branch, some, f"{stem}-{'abcdefgh'[at]}"))
            at += lines
        name = self.draft.free_name(stem)
        self._branching(name, tree, {"driven-by": f"[{', '.join(map(scalar_text, drivers))}]"})
        return name

    def _branching(self, name: str, tree: Branching[Make], keys: dict[str, str]) -> None:
        written = {"item": tree.end.item.name}
        if tree.end.grade is not None:
            written["grade"] = tree.end.grade
        self.draft.fresh.append(Fresh((name, {**written, **keys}), self.after, tree.end.item))


def draft_of(rig: SolvedRig, line: Line, design: Design) -> Drafted | None:
    """The design written into the rig; none where it comes to what stands there."""
    places = tuple(places_of(design))
    stays = matched(rig, line, places)
    above = reference(rig, line.source)
    ends = (line.source[0], *line.parts, *(() if line.end is None else line.end[:1]))
    after = next((n for n in ends if is_own(rig, n)), next((n for n in ends if entry_of(rig, n)), line.source[0]))
    writer = LineWriter(rig, line, stays, Draft(rig), above, after)
    remaining = iter(places)
    for slot in design.slots:
        writer.slot(slot, remaining)
    draft = writer.draft
    draft.gone = set(line.stages) - set(stays.values())
    writer.words += [f"take {rig.parts[n].name} out" for n in sorted(draft.gone)]
    if design.end is not None:
        writer.end(design.end)
    if line.end is not None:
        end, inlet = line.end
        if reference(rig, rig.parts[end].inlets[inlet]) != writer.above:
            draft.inlets[end, inlet] = writer.above
    else:
        draft.leads.update(redirected(rig, line.parts[-1], writer.above))
    order = staying(design, stays)
    if order != [n for n in line.parts if n in order]:
        names = [rig.parts[n].name for n in order]
        alone = f"reorder the line: {', then '.join(names)}"
        writer.words.append(f"in the order {', '.join(names)}" if writer.words else alone)
    return Drafted(draft, ", ".join(writer.words), kinds_of(rig, line, places, design, draft)) if writer.words else None


def weights(row: tuple[int, ...]) -> tuple[int, ...]:
    """A row of lines as shares in lowest terms: 2 and 2 lines are 1 : 1."""
    common = reduce(gcd, row)
    return tuple(count // common for count in row)


def reference(rig: SolvedRig, outlet: tuple[int, int]) -> str:
    """How a `driven-by` of the rig's own file names an outlet; one within a blueprint as whoever it drives names it."""
    part = rig.parts[outlet[0]]
    below = rig.train.driven.get(outlet)
    handed_on = rig.rig.placed.exits.get(outlet) if part.tree is not rig.rig.tree else None
    if handed_on is not None and not handed_on.uses:
        return handed_on.name
    if not is_own(rig, outlet[0]) and below is not None and is_own(rig, below):
        driven = rig.parts[below]
        written = driven.tree.at((*driven.route, "driven-by"))
        inlet = driven.inlets.index(outlet)
        return str(written[inlet] if isinstance(written, list) and inlet < len(written) else written)
    return f"{part.name}.{part.outlets[outlet[1]]}" if part.outlets else part.name


def redirected(rig: SolvedRig, last: int, above: str) -> Iterator[tuple[str, str]]:
    """The outlets of a blueprint that a part leads to, each with what leads there now, where that is another."""
    outlets = rig.rig.tree.at(("outlets",)) if rig.rig.placed.alone else None
    name = rig.parts[last].name
    if name != above and isinstance(outlets, dict):
        yield from ((outlet, above) for outlet, text in outlets.items() if text == name)


def _drivers(rig: SolvedRig, part: Part) -> str:
    return reference(rig, part.inlets[0]) if part.inlets else ""


def _make(draft: Draft, part: Part, number: int, make: Make) -> None:
    if make.item.name != part.item.name:
        draft.settings[number, "item"] = make.item.name
        draft.items[number] = make.item
    if make.grade is not None:
        draft.settings[number, "grade"] = make.grade
    elif part.grade is not None:
        draft.settings[number, "grade"] = None


def _words(stage: Stage) -> str:
    of = f" in {stage.make.grade}" if stage.make.grade is not None else ""
    verb = "increasing" if stage.direction == "increase" else "reducing"
    return f"{stage.make.item.name}{of} {stage.offer.ratio.text} : 1 {verb}"


def _behind(above: str) -> str:
    return f"behind {above}"
