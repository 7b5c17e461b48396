"""Something is named that is not there.

What: an item, grade, part, outlet, lubricant or file that the rig, the catalogue or the repository lacks; a file
outside the repository's root; a step of the wrong kind for its part; a component that contains itself.

Why: the part that names it cannot be solved, and neither can what hangs below it.

How to repair: take the nearest name that the message offers, or add what is missing.

Source: none; the rig language.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """The faults of this rule that reading the file has shown."""
    yield from api.faults_of(rig, "unknown-reference")


def repairs(rig: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """The nearest name that is there."""
    if finding.file != rig.rig.tree.source.shown:
        yield api.NoFix("the name stands in another file: correct it there")
        return
    if finding.route[:1] == ("readings",):
        yield api.NoFix("nothing is ever written into a reading, it says what was read: correct its name by hand")
        return
    written = str(rig.rig.tree.at(finding.route))
    known = tuple(_known(rig, finding.route))
    if not known:
        yield api.NoFix("no other name is tried here: correct it, or add what it names")
        return
    names = api.nearest(written, known, limit=3)
    for name in names:
        edit = api.Edit(finding.file, finding.span, name)
        yield api.Fix(f"write {name} for {written}", (edit,), only_name=len(names) == 1)
    yield api.NoFix("no name that is there mends it alone: say what was meant, or add what is missing")


def _known(rig: api.SolvedRig, route: api.Route) -> Iterable[str]:
    """The names that may stand at a place."""
    parts = rig.parts
    match route[0], route[-1]:
        case "parts", "item":
            return rig.catalogue.items
        case "parts", _ if "driven-by" in route:
            return [name for part in parts if part.name != route[1] for name in _outlets(part)]
        case "lubrication", "lubricant":
            return rig.catalogue.lubricants
        case "lubrication", "supplied-by":
            return [part.name for part in parts if part.item.makes is not None]
        case "lubrication" | "commissioning" | "waivers", _:
            return [part.name for part in parts]
    return ()


def _outlets(part: api.Part) -> Iterator[str]:
    """The references by which a part's outlets are named."""
    if part.item.kind != "driven-machine":
        yield from (f"{part.name}.{outlet}" for outlet in part.outlets)
        if not part.outlets:
            yield part.name


RULE = api.Rule("unknown-reference", "error", check, repairs, local=True)
