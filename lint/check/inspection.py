"""All rules over one solved rig: findings in a stable order; a rule that crashes is a finding, and the others go on."""

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from functools import partial
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple

from lineshaft.check.registry import CRASHED
from lineshaft.check.rule import Rule
from lineshaft.check.rulebook import Rulebook
from lineshaft.schema.loading import Loaded, Loader
from lineshaft.schema.model.policy import Policy
from lineshaft.schema.model.rig import NOTHING_PLACED
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded

if TYPE_CHECKING:  # a clean rig has none
    from lineshaft.check.finding import Finding, Reported
    from lineshaft.check.judged_finding import JudgedFinding, Waived


class Inspected(NamedTuple):
    """A rig, or a blueprint alone, as it was loaded and solved, with all that was found on it."""

    loaded: Loaded
    rig: SolvedRig
    findings: "tuple[JudgedFinding, ...]"


def inspected(
    loader: Loader,
    path: Path,
    kind: Literal["rig", "blueprint"],
    policy: Policy,
    book: Rulebook,
    today: date | None = None,
) -> Inspected:
    """The rig at a path, or the blueprint alone at the edge of its promises, loaded, solved and judged."""
    if kind == "rig":
        loaded = loader.rig(path)
        rig = solve_loaded(loaded, policy)
        return Inspected(loaded, rig, inspect_rig(rig, book, today))
    from lineshaft.solve.promise_edge import solve_alone  # where a blueprint is judged

    loaded, rig = solve_alone(loader, path, policy)
    return Inspected(loaded, rig, inspect_rig(rig, book))


def includes_of(loaded: Loaded) -> tuple[str, ...]:
    """The files that a rig or blueprint hangs on beside its own, as shown."""
    files = {fault.file for fault in loaded.faults}
    if (rig := loaded.rig) is not None:
        trees = {rig.catalogue.tree, *(catalogue.tree for catalogue in (rig.earlier,) if catalogue is not None)}
        if rig.placed is not NOTHING_PLACED:
            trees |= {part.tree for part in rig.parts} | {use.tree for part in rig.parts for use in part.uses}
        files |= {tree.source.shown for tree in trees}
    return tuple(sorted(files - {loaded.shown}))


def inspect_rig(
    rig: SolvedRig,
    book: Rulebook,
    today: date | None = None,
    told: "Callable[[Rule, SolvedRig], Iterable[Finding]] | None" = None,
) -> "tuple[JudgedFinding, ...]":
    """Every finding of every rule in ``book`` on ``rig``, sorted by place, with fingerprints.

    With a day the rig's waivers are judged as well, and what they cover on it is marked; without one nothing is waived.
    ``told`` is what a rule finds on the rig, for who has asked some of them already.
    """
    found: list[Finding] = []
    crashed: set[str] = set()
    for rule in book.rules:
        its = _alone_if_crashed((told or stream_of)(rule, rig))
        if its and its[-1].rule == CRASHED:
            crashed.add(rule.id)
        found += its
    if book.broken:
        from lineshaft.check.stamp import crashed as crash_of

        found += [crash_of(rig.file, broken.id, broken.reason) for broken in book.broken]
    covered: list[Waived | None] = []
    if today is not None and rig.rig.waivers:
        from lineshaft.check.waivers import waived_by

        covered = waived_by(rig, found, today)
        found += _on_waivers(rig, book, found, crashed, today)
    if not found:
        return ()
    from lineshaft.check.fingerprint import with_fingerprints

    if rig.rig.placed is not NOTHING_PLACED:
        from lineshaft.check.uses import inside_blueprints

        found = inside_blueprints(rig, found)
    return with_fingerprints(sorted(zip_longest(found, covered), key=lambda row: place_order(row[0])))


def _on_waivers(
    rig: SolvedRig, book: Rulebook, found: "list[Finding]", crashed: set[str], today: date
) -> "list[Finding]":
    """What the rules have to say of the waivers of a rig with these findings."""
    from lineshaft.check.waivers import Rules, judged_waivers

    running = {rule.id for rule in book.rules} - crashed
    silent = {*book.off, *(broken.id for broken in book.broken), *crashed} - running
    rules = Rules(running, silent)
    judged = judged_waivers(rig, found, rules, today)
    told: list[Finding] = []
    for rule in book.rules:
        if rule.review is not None:
            told += _alone_if_crashed(_sound_ones(rule, rig, partial(rule.review, rig, judged)))
    return told


def place_order(finding: "Finding") -> tuple[str, int, int, str, str]:
    """What findings are sorted by: file, place, rule, part by its name in the judged file."""
    start = finding.span.start
    return finding.file, start.line, start.column, finding.rule, finding.home[1] or ""


def findings_of(rule: Rule, rig: SolvedRig) -> "list[Finding]":
    """What one rule finds on a rig, in its own order and without fingerprints; its crash is a finding, and alone."""
    return _alone_if_crashed(stream_of(rule, rig))


def _alone_if_crashed(findings: "Iterable[Finding]") -> "list[Finding]":
    found = list(findings)
    return found[-1:] if found and found[-1].rule == CRASHED else found


def stream_of(rule: Rule, rig: SolvedRig) -> "Iterator[Finding]":
    """The same one by one, for those who may have seen enough before the last; a crash comes behind what was found."""
    return _sound_ones(rule, rig, partial(rule.check, rig))


def _sound_ones(
    rule: Rule, rig: SolvedRig, reported: "Callable[[], Iterable[Reported]]"
) -> "Iterator[Finding]":
    try:
        for said in reported():
            from lineshaft.check.stamp import at_level_of_kind, stamped

            yield stamped(at_level_of_kind(said, rule, rig) if rule.kind_levels else said, rule)
    except (KeyboardInterrupt, GeneratorExit):
        raise
    except BaseException as error:  # a plugin may raise anything, SystemExit too
        from lineshaft.check.stamp import crashed

        yield crashed(rig.file, rule.id, f"raised {type(error).__name__}")
