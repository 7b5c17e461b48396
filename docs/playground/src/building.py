"""Building without YAML: what a rig offers to be chosen, and the edits that write what was chosen."""

import re
from collections.abc import Iterator, Mapping
from itertools import islice, permutations
from typing import Any, NamedTuple

from lineshaft.api import Edit, Judgement, Part, SolvedRig
from lineshaft.repair.edits.entries import drop_entries
from lineshaft.repair.edits.parts import add_parts, set_entry, set_feed, set_key, without_key
from lineshaft.schema.model.catalogue import HeadTable, Hydraulic, Item
from lineshaft.schema.text.scalar_text import scalar_text
from lineshaft.schema.text.tree import Tree

_NAME = re.compile(r"[A-Za-z0-9_-]{1,64}")
_WEIGHT = re.compile(r"(?=.*[1-9])[0-9]+(\.[0-9]+)?")
_KEYS = ("item", "grade", "head", "ratio", "set", "driven-by", "shares")
_MOST_ORDERS = 120

NOTHING_OFFERED: Mapping[str, Any] = {"items": [], "drivers": [], "parts": [], "placed": []}


class Placing(NamedTuple):
    """A line of a file that puts a blueprint in place: its name there, the inlets, and what drives them by name."""

    tree: Tree
    name: str
    inlets: tuple[str, ...]
    feeds: Mapping[str, str]


def offers_of(judgement: Judgement) -> Mapping[str, Any]:
    """The items of the catalogue with their settings, the free outlets, the parts and blueprints of the file itself."""
    if judgement.inspected is None:
        return NOTHING_OFFERED
    rig = judgement.inspected.rig
    placed = [
        {"name": one.name, "inlets": [{"name": inlet, "driver": one.feeds.get(inlet, "")} for inlet in one.inlets]}
        for one in _placings(rig)
    ]
    return {
        "items": [_item(item) for item in rig.catalogue.items.values()],
        "drivers": sorted(_free(rig)),
        "parts": [_part(part) for part in _written(rig, judgement.file)],
        "placed": placed,
    }


def edits_that_add(judgement: Judgement, name: str, settings: Mapping[str, str]) -> list[Edit]:
    """A part of this name with these settings, behind the last. Raises ValueError in words for who fills in a form."""
    rig = _rig(judgement)
    if not _NAME.fullmatch(name):
        raise ValueError("a name has letters, digits, - and _, and no more than 64 of them")
    tree = rig.rig.tree
    entries = tree.at(("parts",))
    assert isinstance(entries, dict)  # it has parts
    if name in entries:
        raise ValueError(f"there is a part {name} already")
    chosen = {**settings, "shares": _shares(settings)}
    keys = {key: chosen[key] for key in _KEYS if chosen.get(key)}
    return add_parts(tree, ("parts", list(entries)[-1]), [(name, keys)])


def edits_that_change(judgement: Judgement, name: str, settings: Mapping[str, str]) -> list[Edit]:
    """The settings of a part that differ; an empty one is taken out.

    Raises ValueError in words for who fills in a form.
    """
    rig = _rig(judgement)
    part = next((part for part in _written(rig, judgement.file) if part.name == name), None)
    if part is None:
        raise ValueError(f"there is no part {name} in this file")
    chosen = {**settings, "shares": _shares(settings)} if "weights" in settings else settings
    if "weights" in settings:
        _check_outlets(rig, part, settings)
    was = _settings(part)
    edits = []
    for key in _KEYS:
        if key in chosen and chosen[key] != was.get(key, ""):
            edit = set_key(part, key, chosen[key]) if chosen[key] else without_key(part, key)
            edits += [edit] if edit else []
    return edits


def edits_that_feed(judgement: Judgement, name: str, feeds: Mapping[str, str]) -> list[Edit]:
    """What drives the inlets of a placed blueprint, where it differs; an inlet that nothing drives is left out.

    Raises ValueError in words for who fills in a form.
    """
    placing = next((one for one in _placings(_rig(judgement)) if one.name == name), None)
    if placing is None:
        raise ValueError(f"there is no blueprint {name} in place in this file")
    tree, line = placing.tree, ("parts", name)
    written = tree.at((*line, "driven-by"))
    wanted = {inlet: feeds[inlet] for inlet in placing.inlets if feeds.get(inlet)}
    if wanted == placing.feeds:
        return []
    if not wanted:
        return drop_entries(tree, line, ["driven-by"])
    if isinstance(written, str) and len(wanted) == 1:
        return [set_feed(tree, (*line, "driven-by"), *wanted.values())]
    if not isinstance(written, dict):
        text = ", ".join(f"{scalar_text(inlet)}: {scalar_text(driver)}" for inlet, driver in wanted.items())
        return [set_entry(tree, line, "driven-by", f"{{{text}}}")]
    gone = [inlet for inlet in written if inlet not in wanted]
    changed = {inlet: driver for inlet, driver in wanted.items() if driver != placing.feeds.get(inlet)}
    holder = (*line, "driven-by")
    return [
        *drop_entries(tree, holder, gone),
        *(set_entry(tree, holder, inlet, scalar_text(driver)) for inlet, driver in changed.items()),
    ]


def _rig(judgement: Judgement) -> SolvedRig:
    if judgement.inspected is None or not judgement.inspected.rig.parts:
        raise ValueError("the text cannot be read as it stands: mend what the findings say first")
    return judgement.inspected.rig


def _written(rig: SolvedRig, file: str) -> Iterator[Part]:
    return (p for p in rig.parts if p.tree.source.shown == file and not p.uses and p.section == "parts")


def _placings(rig: SolvedRig) -> Iterator[Placing]:
    """The blueprints that the file itself puts in place and whose parts are known, in the order of the file."""
    found: dict[str, Tree] = {}
    for part in rig.parts:
        if part.uses:
            inner = part.uses[1].tree if len(part.uses) > 1 else part.tree
            found.setdefault(str(part.uses[0].route[1]), inner)
    for name, inner in found.items():
        inlets = inner.at(("inlets",))
        names = tuple(map(str, inlets)) if isinstance(inlets, dict) else ()
        written = rig.rig.tree.at(("parts", name, "driven-by"))
        feeds = dict.fromkeys(names[:1], written) if isinstance(written, str) else written
        known = {str(inlet): str(driver) for inlet, driver in feeds.items()} if isinstance(feeds, dict) else {}
        yield Placing(rig.rig.tree, name, names, known)


def _item(item: Item) -> dict[str, Any]:
    return {
        "name": item.name,
        "kind": item.kind,
        "ratios": [offer.ratio.text for offer in item.ratios] if item.is_stage else [],
        "grades": list(item.grades) if item.chooses_grade else [],
        "head": isinstance(item.source, HeadTable | Hydraulic),
        "inlets": 0 if item.kind == "prime-mover" else item.inlets or 1,
        "splits": item.kind == "splitter",
        "outlets": item.outlets or 0,  # 0: any number
        "shares": [_ratio(order) for order in _orders(item)],
    }


def _orders(item: Item) -> list[tuple[float, ...]]:
    """The shares that an item comes in, in each order; none where it takes any."""
    every = (order for row in item.shares or () for order in permutations(row))
    return list(islice(dict.fromkeys(islice(every, _MOST_ORDERS**2)), _MOST_ORDERS))


def _ratio(weights: tuple[float, ...]) -> str:
    return " : ".join(f"{weight:g}" for weight in weights)


def _shares(settings: Mapping[str, str]) -> str:
    """The `shares` that two fields say, `saws, yard` and `3 : 5`. Raises ValueError where they do not fit together."""
    names = [name.strip() for name in settings.get("outlets", "").split(",")]
    weights = [weight.strip() for weight in settings.get("weights", "").split(":")]
    if not any(names) and not any(weights):
        return ""
    unfit = next((name for name in names if not _NAME.fullmatch(name)), None)
    if unfit is not None or len(set(names)) < len(names):
        raise ValueError("give each outlet a name of its own, of letters, digits, - and _: saws, yard")
    if len(names) != len(weights) or not all(map(_WEIGHT.fullmatch, weights)):
        raise ValueError(f"give {len(names)} shares, numbers above 0 with colons between: 3 : 5")
    return f"{{{', '.join(f'{scalar_text(name)}: {weight}' for name, weight in zip(names, weights, strict=True))}}}"


def _check_outlets(rig: SolvedRig, part: Part, settings: Mapping[str, str]) -> None:
    """Raise ValueError where an outlet would go that drives something."""
    kept = {name.strip() for name in settings.get("outlets", "").split(",")}
    number = rig.rig.index[part.name]
    for outlet, name in enumerate(part.outlets):
        if name not in kept and (number, outlet) in _taken(rig):
            raise ValueError(f"{part.name}.{name} drives something: join that to something else first")


def _taken(rig: SolvedRig) -> set[tuple[int, int]]:
    """The outlets that drive a part, or lead out of a blueprint that is looked at alone."""
    handed_on = {outlet for outlet, way in rig.rig.placed.exits.items() if way is None}
    return handed_on.union(*(part.inlets for part in rig.parts))


def _free(rig: SolvedRig) -> Iterator[str]:
    """What may stand behind `driven-by` in the file itself, and drives nothing yet."""
    taken, exits = _taken(rig), rig.rig.placed.exits
    for number, part in enumerate(rig.parts):
        if part.item.kind == "driven-machine":
            continue
        for outlet, name in enumerate(part.outlets if part.item.kind == "splitter" else ("",)):
            way = exits.get((number, outlet))
            if (number, outlet) in taken or (part.uses and (way is None or way.uses)):
                continue
            yield way.name if part.uses and way is not None else f"{part.name}.{name}" if name else part.name


def _part(part: Part) -> dict[str, Any]:
    written = part.tree.at((*part.route, "driven-by"))
    drivers = written if isinstance(written, list) else [] if written is None else [written]
    shares = part.tree.at((*part.route, "shares"))
    weights = {str(name): str(weight) for name, weight in shares.items()} if isinstance(shares, dict) else {}
    return {"name": part.name, "drivers": list(map(str, drivers)), "settings": _settings(part), "shares": weights}


def _settings(part: Part) -> dict[str, str]:
    """The settings of a part as a form says them."""
    written = part.tree.at(part.route)
    assert isinstance(written, dict)  # it was read
    return {key: _text(written[key]) for key in _KEYS if written.get(key) is not None}


def _text(value: object) -> str:
    if isinstance(value, dict):
        return f"{{{', '.join(f'{scalar_text(str(name))}: {weight}' for name, weight in value.items())}}}"
    return f"[{', '.join(map(str, value))}]" if isinstance(value, list) else str(value)
