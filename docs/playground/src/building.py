"""Building without YAML: what a rig offers to be chosen, and the edits that write what was chosen."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from lineshaft.api import Edit, Judgement, Part, SolvedRig
from lineshaft.repair.edits.parts import add_parts, set_key, without_key
from lineshaft.schema.model.catalogue import HeadTable, Hydraulic, Item

_NAME = re.compile(r"[A-Za-z0-9_-]{1,64}")
_KEYS = ("item", "grade", "head", "ratio", "set", "driven-by", "shares")


def offers_of(judgement: Judgement) -> dict[str, Any]:
    """The items of the catalogue with their settings, the free outlets, and the parts that the file writes."""
    if judgement.inspected is None:
        return {"items": [], "drivers": [], "parts": []}
    rig = judgement.inspected.rig
    return {
        "items": [_item(item) for item in rig.catalogue.items.values()],
        "drivers": sorted(_free(rig)),
        "parts": [_part(rig, part) for part in _written(rig, judgement.file)],
    }


def edits_that_add(judgement: Judgement, name: str, settings: Mapping[str, str]) -> list[Edit]:
    """A part of this name with these settings, behind the last. Raises ValueError in words for who fills in a form."""
    rig = _rig(judgement)
    if not _NAME.fullmatch(name):
        raise ValueError("a name has letters, digits, - and _, and no more than 64 of them")
    if name in rig.rig.index:
        raise ValueError(f"there is a part {name} already")
    *_, last = _written(rig, judgement.file)
    return add_parts(last.tree, last.route, [(name, {key: settings[key] for key in _KEYS if settings.get(key)})])


def edits_that_change(judgement: Judgement, name: str, settings: Mapping[str, str]) -> list[Edit]:
    """The settings of a part that differ; an empty one is taken out. Raises ValueError for a part that is not there."""
    rig = _rig(judgement)
    part = next((part for part in _written(rig, judgement.file) if part.name == name), None)
    if part is None:
        raise ValueError(f"there is no part {name} in this file")
    was = _settings(part)
    edits = []
    for key in _KEYS:
        if key in settings and settings[key] != was.get(key, ""):
            edit = set_key(part, key, settings[key]) if settings[key] else without_key(part, key)
            edits += [edit] if edit else []
    return edits


def _rig(judgement: Judgement) -> SolvedRig:
    if judgement.inspected is None or not judgement.inspected.rig.parts:
        raise ValueError("the text cannot be read as it stands: mend what the findings say first")
    return judgement.inspected.rig


def _written(rig: SolvedRig, file: str) -> Iterator[Part]:
    return (p for p in rig.parts if p.tree.source.shown == file and not p.uses and p.section == "parts")


def _item(item: Item) -> dict[str, Any]:
    return {
        "name": item.name,
        "kind": item.kind,
        "ratios": [offer.ratio.text for offer in item.ratios] if item.is_stage else [],
        "grades": list(item.grades) if item.chooses_grade else [],
        "head": isinstance(item.source, HeadTable | Hydraulic),
        "inlets": 0 if item.kind == "prime-mover" else item.inlets or 1,
        "outlets": item.outlets or 2 if item.kind == "splitter" else 0,
        "shares": [" : ".join(f"{weight:g}" for weight in one) for one in item.shares or ()],
    }


def _outlets(part: Part) -> list[str]:
    """What may stand behind `driven-by` for each outlet of a part, in the order of their numbers."""
    if part.item.kind == "driven-machine":
        return []
    return [f"{part.name}.{outlet}" for outlet in part.outlets] if part.item.kind == "splitter" else [part.name]


def _free(rig: SolvedRig) -> Iterator[str]:
    taken = {inlet for part in rig.parts for inlet in part.inlets}
    for number, part in enumerate(rig.parts):
        if "/" not in part.name:
            yield from (name for outlet, name in enumerate(_outlets(part)) if (number, outlet) not in taken)


def _part(rig: SolvedRig, part: Part) -> dict[str, Any]:
    drivers = [name for number, outlet in part.inlets for name in _outlets(rig.parts[number])[outlet : outlet + 1]]
    return {"name": part.name, "drivers": drivers, "settings": _settings(part)}


def _settings(part: Part) -> dict[str, str]:
    """The plain settings of a part as they are written."""
    written = part.tree.at(part.route)
    if not isinstance(written, dict):
        return {}
    known = {key: written[key] for key in _KEYS if isinstance(written.get(key), str | int | float | list)}
    return {key: f"[{', '.join(value)}]" if isinstance(value, list) else str(value) for key, value in known.items()}
