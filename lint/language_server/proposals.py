"""What fits at a place, of all that the catalogue offers and the rig has; the best first."""

import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Final, Literal, NamedTuple

from lineshaft.api import Judgement, Measure, Part, SolvedRig
from lineshaft.check.registry import complete_registry
from lineshaft.language_server.quantity_keys import QUANTITY_OF_KEY
from lineshaft.language_server.schema_keys import key_at, keys_at
from lineshaft.language_server.typing_place import ITEM, TypingPlace
from lineshaft.run.discovery import walk
from lineshaft.schema.loading import FileKind, kind_of
from lineshaft.schema.model.catalogue import Catalogue, Item
from lineshaft.schema.quantities.units import LISTED
from lineshaft.schema.read.part_reader import ALWAYS, settings_of
from lineshaft.schema.text.windows import shown_path
from lineshaft.write.shown_units import figures, measure

_MOST_FILES: Final = 2_000
_NUMBER: Final = re.compile(r"[-+]?[0-9.,]+(?:e[-+]?[0-9]+)?( *)", re.IGNORECASE)
_STEPS: Final = {
    "start": ("prime-mover",),
    "stop": ("prime-mover",),
    "engage": ("clutch",),
    "disengage": ("clutch",),
}


class Proposal(NamedTuple):
    """One text that fits: what it is called and is, what goes into the file, what is said of it.

    It takes the place of what is typed, from the character ``start`` of that on.
    """

    label: str
    kind: Literal["key", "value", "item", "part", "file", "rule", "unit", "snippet"]
    text: str
    detail: str = ""
    said: str = ""
    start: int | None = None


class _Known(NamedTuple):
    """What proposals are drawn from; ``rig`` and ``catalogue`` are perhaps those of an earlier text."""

    kind: FileKind
    place: TypingPlace
    rig: SolvedRig | None
    catalogue: Catalogue | None
    judgement: Judgement

    @property
    def item(self) -> Item | None:
        """The item of the part that is being written."""
        name = self.place.beside.get("item", "").strip("\"' ")
        if not name and self.place.path[:1] == ("parts",) and len(self.place.path) > 2 and self.rig is not None:
            number = self.rig.rig.index.get(self.place.path[1])
            return None if number is None else self.rig.parts[number].item
        return None if self.catalogue is None else self.catalogue.items.get(name)


def proposals(kind: FileKind, place: TypingPlace, now: Judgement, solved: Judgement) -> list[Proposal]:
    """What fits at a place of a file of some kind; ``solved`` is the last verdict with a rig."""
    rig = solved.inspected.rig if solved.inspected is not None else None
    known = _Known(kind, place, rig, _catalogue_of(now, solved), now)
    if place.key is not None:
        return [*_values(known)]
    found = [*_keys(known)]
    if place.path and place.path[-1] == ITEM:
        found += _values(known._replace(place=place._replace(path=place.path[:-1], key=ITEM)))
    return found


def _catalogue_of(now: Judgement, solved: Judgement) -> Catalogue | None:
    for judgement in (now, solved):
        found = judgement.inspected
        if found is not None and found.loaded.rig is not None:
            return found.loaded.rig.catalogue
        if found is not None and found.loaded.tree is not None and judgement.resolved is not None:
            catalogue = judgement.resolved.loader.catalogue_of(found.loaded.tree)[0]
            if catalogue is not None:
                return catalogue
    return None


def _keys(known: _Known) -> Iterator[Proposal]:
    """The keys that are not there yet; of a part those that its item takes; and whole parts."""
    place = known.place
    keys = keys_at(known.kind, place.path)
    item = known.item if place.path[:1] == ("parts",) and len(place.path) == 2 else None
    allowed = None if item is None else ALWAYS | settings_of(item)
    for each in keys.values():
        if each.name not in place.beside and (allowed is None or each.name in allowed):
            yield Proposal(each.name, "key", f"{each.name}: ", each.title, each.description)
    if place.path == ("levels",) and known.kind == "policy":
        yield from _rules(": ")
    if place.path == ("parts",) and known.catalogue is not None and not place.flow:
        yield from (_whole_part(item, known) for item in known.catalogue.items.values())


def _values(known: _Known) -> Iterator[Proposal]:
    place = known.place
    key, path = place.key or "", place.path
    written = key_at(known.kind, path, key)
    if written is not None:
        yield from (Proposal(value, "value", value, written.title, written.description) for value in written.values)
    if known.kind == "blueprint" and not place.prefix.strip("$").strip():
        yield from _parameters(known)
    match path, key:
        case ("parts", _), "item":
            yield from _items(known)
        case ("parts", _), "ratio" | "grade" | "shares":
            yield from _offers(known, key)
        case (("parts", _), "driven-by") | (("parts", _, "driven-by"), _) | (("outlets",), _):
            yield from _outlets(known, free=True)
        case (("parts", _), "blueprint") | ((), "catalogue") | (("earlier",), _):
            yield from _files(known, "blueprint" if key == "blueprint" else "catalogue")
        case ("items", _), "grade" if known.catalogue is not None:
            yield from (Proposal(name, "value", name) for name in known.catalogue.grades)
        case _:
            yield from _of_running(known, path, key)
    yield from _units(place)


def _of_running(known: _Known, path: tuple[str, ...], key: str) -> Iterator[Proposal]:
    """Names in the lists: of circuits, steps, readings and waivers."""
    catalogue = known.catalogue
    match path, key:
        case ("lubrication", _), "lubricant" if catalogue is not None:
            yield from (Proposal(name, "value", name) for name in catalogue.lubricants)
        case ("lubrication", _), "supplied-by":
            yield from _parts(known, lambda part: part.item.makes is not None)
        case ("lubrication", _, "feeds"), _:
            yield from _parts(known, lambda part: part.item.lubricant is not None)
        case ("commissioning", _), str(step) if step in _STEPS:
            yield from _parts(known, lambda part: part.item.kind in _STEPS[step])
        case ("commissioning", _), "couple":
            yield from _parts(known, lambda part: bool(part.inlets))
        case ("commissioning", _, "set"), "part":
            yield from _parts(known, lambda part: part.item.is_stage)
        case ("commissioning", _, "fill"), "part":
            yield from _parts(known, lambda part: part.item.lubricant is not None)
        case ("readings", _), "at":
            yield from _outlets(known, free=False)
        case ("waivers", _), "part":
            yield from _parts(known, lambda _: True)
        case ("waivers", _), "rule":
            yield from _rules("")


def _items(known: _Known) -> Iterator[Proposal]:
    for item in known.catalogue.items.values() if known.catalogue is not None else ():
        yield Proposal(item.name, "item", item.name, item.kind, _offered(item))


def _offered(item: Item) -> str:
    """What an item comes in, and what it asks for."""
    said = []
    if item.ratios:
        said.append(f"ratios {', '.join(offer.ratio.text for offer in item.ratios)}")
    if item.grades:
        said.append(f"grades {', '.join(item.grades)}")
    needs = ((item.needs.torque, "N*m"), (item.needs.speed, "rad/s"), (item.needs.power, "W"))
    asked = [measure(Measure(value, unit)) for value, unit in needs if value is not None]
    return "; ".join([*said, f"needs {', '.join(asked)}"] if asked else said)


def _offers(known: _Known, key: str) -> Iterator[Proposal]:
    """The ratios, grades or shares that the item offers."""
    item = known.item
    if item is None:
        return
    if key == "ratio":
        yield from (Proposal(o.ratio.text, "value", o.ratio.text, f"{item.name}, ratio") for o in item.ratios)
    elif key == "grade":
        yield from (Proposal(grade, "value", grade, f"{item.name}, grade") for grade in item.grades)
    for row in item.shares or () if key == "shares" else ():
        names = ", ".join(f"${{{n}:{chr(96 + n)}}}: {figures(share)}" for n, share in enumerate(row, 1))
        yield Proposal(" : ".join(map(figures, row)), "snippet", f"{{{names}}}", f"{item.name}, shares")


def _parts(known: _Known, fits: Callable[[Part], bool]) -> Iterator[Proposal]:
    for part in known.rig.parts if known.rig is not None else ():
        if part.section == "parts" and fits(part):
            yield Proposal(part.name, "part", part.name, part.item.name)


def _outlets(known: _Known, *, free: bool) -> Iterator[Proposal]:
    """What may drive a part: outlets that drive nothing, and the one that drives it now; or all outlets."""
    rig = known.rig
    own = None
    if rig is not None and known.place.path[:1] == ("parts",):
        own = rig.rig.index.get(known.place.path[1])
    for number, name, part in _all_outlets(rig):
        below = None if rig is None else rig.train.driven.get(number)
        if not free or below is None or below == own:
            yield Proposal(name, "part", name, part.item.name)


def _all_outlets(rig: SolvedRig | None) -> Iterator[tuple[tuple[int, int], str, Part]]:
    for number, part in enumerate(rig.parts) if rig is not None else ():
        if part.item.kind == "driven-machine":
            continue
        for outlet, name in enumerate(part.outlets or ("",)):
            found = rig.rig.placed.exits.get((number, outlet)) if rig is not None else None
            if found is not None:
                yield (number, outlet), found.name, part
            elif not part.uses:
                yield (number, outlet), f"{part.name}.{name}" if name else part.name, part


def _parameters(known: _Known) -> Iterator[Proposal]:
    found = known.judgement.inspected
    takes = None if found is None or found.loaded.tree is None else found.loaded.tree.at(("takes",))
    for name in takes if isinstance(takes, dict) else ():
        yield Proposal(f"${name}", "value", f"${name}", "parameter")


def _files(known: _Known, kind: FileKind) -> Iterator[Proposal]:
    """The files of a kind in the repository, as paths from the one that is written."""
    resolved, folder = known.judgement.resolved, known.judgement.path.parent
    root: Path | None = None if resolved is None else resolved.loader.repository.root
    for number, (path, _) in enumerate(walk(root) if root is not None else ()):
        if number >= _MOST_FILES:
            return
        if kind_of(path) == kind and path != known.judgement.path:
            name = shown_path(path, folder)
            yield Proposal(name, "file", name)


def _rules(behind: str) -> Iterator[Proposal]:
    yield from (Proposal(name, "rule", f"{name}{behind}", "rule") for name in sorted(complete_registry().ids))


def _units(place: TypingPlace) -> Iterator[Proposal]:
    """The units that may follow a number."""
    kind = QUANTITY_OF_KEY.get(place.key or "")
    number = _NUMBER.match(place.prefix)
    if kind is None or number is None:
        return
    typed = place.prefix[number.end() :]
    space = "" if number[1] else " "
    for unit in LISTED[kind]:
        for prefix in ("", "k", "m") if unit.prefixed else ("",):
            if (prefix + unit.symbol).startswith(typed):
                yield Proposal(prefix + unit.symbol, "unit", space + prefix + unit.symbol, kind, start=number.end())


def _whole_part(item: Item, known: _Known) -> Proposal:
    """A part of an item as a snippet, with all that it needs."""
    fields = [f"item: {item.name}"]
    if item.chooses_grade:
        fields.append(f"grade: {_choice(2, item.grades)}")
    if item.is_stage:
        fields.append(f"ratio: {_choice(3, [offer.ratio.text for offer in item.ratios])}")
        fields.append(f"set: {_choice(4, ('reduce', 'increase'))}")
    if item.kind == "splitter":
        row = (item.shares or ((1.0,) * (item.outlets or 2),))[0]
        names = ", ".join(f"${{{n}:{chr(91 + n)}}}: {figures(share)}" for n, share in enumerate(row, 6))
        fields.append(f"shares: {{{names}}}")
    if item.kind != "prime-mover":
        fields.append("driven-by: ${5}")
    text = f"${{1:{item.kind}}}: {{{', '.join(fields)}}}"
    return Proposal(f"a part of {item.name}", "snippet", text, item.kind, _offered(item))


def _choice(number: int, values: Iterable[str]) -> str:
    return f"${{{number}|{','.join(values)}|}}"
