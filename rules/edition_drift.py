"""The rig was worked out for another edition of the catalogue than the one it is judged by.

What: the rig's `edition`, or the policy's, is not the catalogue's. Where the catalogue has the rig's edition under
`earlier`, the ratings that changed and touch the rig are listed.

Why: ratings change from one edition to the next, so numbers worked out for the old one may be wrong for the new.

How to repair: look at what changed, check the rig, and write the new edition.

Source: none; the editions are the site's.
"""

from collections.abc import Callable, Iterator

from lineshaft.judge.finding import (
    ByHand,
    Candidate,
    Edit,
    Finding,
    Measure,
    Offer,
    power,
    report,
    speed,
    times,
    torque,
)
from lineshaft.judge.rule import Rule
from lineshaft.schema.catalogue import Catalogue
from lineshaft.schema.rig import Part
from lineshaft.solve.prime_mover import output_of
from lineshaft.solve.solved_rig import SolvedRig

Ratings = dict[str, Measure]


def check(rig: SolvedRig) -> Iterator[Finding]:
    """One finding a rig, at its edition; one at its catalogue where the policy is for another edition still."""
    written, asked, now = rig.rig.edition, rig.policy.edition, rig.catalogue.edition
    if not now or not rig.parts:
        return
    if written is not None and written != now:
        yield _of_rig(rig, written, now)
    if asked is not None and asked not in (now, written):
        tree = rig.rig.tree
        place = (tree.source.shown, tree.span(("catalogue",)), ("catalogue",))
        policy = f"the policy is for edition {asked}, the catalogue is edition {now}"
        suggestion = (f'the catalogue of that edition, or `edition: "{now}"` in the policy',)
        yield report("edition-drift", "warning", place, None, (policy,), (), (), suggestion)


def _of_rig(rig: SolvedRig, written: str, now: str) -> Finding:
    old = rig.rig.earlier
    tree = rig.rig.tree
    place = (tree.source.shown, tree.span(("edition",)), ("edition",))
    start = f"was worked out for edition {written}, the catalogue is edition {now}"
    if old is None:
        words: list[str | Measure] = [f"{start}; it does not have the old one, so what changed cannot be told"]
        return report("edition-drift", "warning", place, None, words)
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
    return report("edition-drift", "warning", place, None, words, values, (), suggestion)


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
        _note(found, f"{item.name} power need", item.needs.power, power)
        if item.kind not in ("prime-mover", "driven-machine"):
            _note(found, f"{item.name} efficiency", item.efficiency, times)
        output = output_of(part._replace(item=item)) if item.kind == "prime-mover" else None
        if output is not None:
            head = "" if part.head is None else f" at {part.head:g} m"
            _note(found, f"{item.name} torque{head}", output.torque, torque)
            _note(found, f"{item.name} speed{head}", output.speed, speed)
    return found


def _note(found: Ratings, name: str, value: float | None, measure: Callable[[float], Measure]) -> None:
    if value is not None:
        found[name] = measure(value)


def repairs(rig: SolvedRig, finding: Finding) -> Iterator[Offer]:
    """The rig's edition line, once all the rest holds by the new ratings; a policy's is not the rig's to change."""
    if finding.route == ("edition",):
        now = rig.catalogue.edition
        written = now.replace("\\", "\\\\").replace('"', '\\"')
        yield Candidate(f"write edition {now}, the catalogue's", (Edit(finding.file, finding.span, f'"{written}"'),))
    else:
        yield ByHand("the policy and the catalogue are of two editions: the site has to say which one holds")


RULE = Rule("edition-drift", "warning", check, repairs, local=True)
