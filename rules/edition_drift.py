"""The rig was worked out for another edition of the catalogue than the one it is judged by.

What: the rig's `edition` is not the catalogue's. Where the catalogue has the rig's edition under `earlier`, the ratings
 that changed and touch the rig are listed.

Why: ratings change from one edition to the next, so numbers worked out for the old one are wrong on this server.

How to repair: look at what changed, check the rig, and write the new edition.

Source: none; the editions are the site's.
"""

from collections.abc import Callable, Iterator

from lineshaft.judge.finding import Finding, Measure, report, speed, torque
from lineshaft.judge.rule import Rule
from lineshaft.schema.catalogue import Catalogue, Output
from lineshaft.schema.rig import Part
from lineshaft.solve.solved_rig import SolvedRig

Ratings = dict[str, Measure]


def check(rig: SolvedRig) -> Iterator[Finding]:
    """One finding a rig, at its edition."""
    written, now = rig.rig.edition, rig.catalogue.edition
    if written is None or not now or written == now or not rig.parts:
        return
    old = rig.rig.earlier
    tree = rig.rig.tree
    place = (tree.source.shown, tree.span(("edition",)), ("edition",))
    start = f"was worked out for edition {written}, the catalogue is edition {now}"
    if old is None:
        words: list[str | Measure] = [f"{start}; it does not have the old one, so what changed cannot be told"]
        yield report("edition-drift", "warning", place, None, words)
        return
    before, after = _ratings(rig.parts, old), _ratings(rig.parts, rig.catalogue)
    changed = [name for name in after if name in before and before[name] != after[name]]
    gone = [name for name in before if name not in after] + [name for name in after if name not in before]
    words = [start]
    for name in changed[:8]:
        words += [f"; {name} was ", before[name], ", is ", after[name]]
    if len(changed) > 8:
        words.append(f"; and {len(changed) - 8} more")
    words += [f"; {name} is only in one of them" for name in gone[:4]]
    if not changed and not gone:
        words.append("; no rating that touches this rig changed")
    values = tuple((name, after[name]) for name in changed)
    suggestion = (f'check what changed, then write `edition: "{now}"`',)
    yield report("edition-drift", "warning", place, None, words, values, (), suggestion)


def _ratings(parts: tuple[Part, ...], catalogue: Catalogue) -> Ratings:
    """The ratings that touch some parts, by name, in the order of the parts."""
    found: Ratings = {}
    for part in parts:
        item = catalogue.items.get(part.item.name)
        if item is None:
            continue
        grade = catalogue.grades.get(part.grade.name) if part.grade is not None else None
        if grade is not None:
            _note(found, f"{grade.name} torque-limit", grade.torque_limit, torque)
            _note(found, f"{grade.name} speed-limit", grade.speed_limit, speed)
        _note(found, f"{item.name} torque-limit", item.torque_limit, torque)
        _note(found, f"{item.name} speed-limit", item.speed_limit, speed)
        _note(found, f"{item.name} torque need", item.needs.torque, torque)
        _note(found, f"{item.name} speed need", item.needs.speed, speed)
        _note(found, f"{item.name} torque limit", item.limits.torque, torque)
        _note(found, f"{item.name} speed limit", item.limits.speed, speed)
        if isinstance(item.source, Output):
            _note(found, f"{item.name} torque", item.source.torque, torque)
            _note(found, f"{item.name} speed", item.source.speed, speed)
    return found


def _note(found: Ratings, name: str, value: float | None, measure: Callable[[float], Measure]) -> None:
    if value is not None:
        found[name] = measure(value)


RULE = Rule("edition-drift", "warning", check)
