"""``lineshaft impact``: what another edition of a catalogue, or a change since a revision, breaks, mends and moves."""

import os
from collections.abc import Iterator
from datetime import date
from functools import partial
from pathlib import Path
from typing import NamedTuple

import click

from lineshaft.changes.editions import Rating, changed_ratings
from lineshaft.changes.impact import Comparison, Judged, RigImpact, Side, impact, judged, worst_first
from lineshaft.changes.moved_rigs import Moved, moved_rigs
from lineshaft.changes.revision import Revision, open_revision
from lineshaft.check.checker import Checker
from lineshaft.check.registry import CRASHED, INTERNAL
from lineshaft.check.resolved_policy import BadPolicyError, ResolvedPolicy, resolved_policy_of
from lineshaft.check.rulebook import open_rulebook
from lineshaft.commands.one_of_several import attempted
from lineshaft.commands.one_rig import checker
from lineshaft.commands.options import as_grave, color_option, day_option, fail_on_option, units_option
from lineshaft.commands.output import deliver, page, to_stdout, told_of
from lineshaft.commands.targets import targets_of
from lineshaft.exits import CannotDoError, Exit
from lineshaft.run.discovery import Found, find
from lineshaft.schema.loading import Loader, kind_of
from lineshaft.schema.model.catalogue import Catalogue
from lineshaft.schema.read.policy_reader import FILE_NAMES
from lineshaft.schema.text.repository import root_of
from lineshaft.write.escape import clean
from lineshaft.write.formats import WRITERS
from lineshaft.write.shown_units import Units


@click.command("impact")
@click.argument("paths", nargs=-1, metavar="OLD NEW [PATH]...")
@click.option("--base", metavar="REV", help="Compare with this git revision, in place of OLD and NEW.")
@click.option("--write", "writes", multiple=True, metavar="FORMAT=FILE", help="A format of `check`; `-` is stdout.")
@fail_on_option
@units_option
@day_option
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(
    paths: tuple[str, ...],
    base: str | None,
    writes: tuple[str, ...],
    fail_on: str,
    units: Units,
    day: date,
    debug: bool,
) -> int:
    """What edition NEW of a catalogue, in place of OLD, breaks, mends and moves in the rigs of PATH (default: here).

    With --base: what the changes since a revision do to them.
    """
    targets = targets_of(writes, WRITERS)
    where = checker(open_rulebook())
    if base is not None:
        found, refused = _since(where, base, paths or (".",), day, debug=debug)
    elif len(paths) < 2:
        raise click.UsageError("impact takes two catalogues, OLD and NEW, or --base REV")
    else:
        found, refused = _between(where, (paths[0], paths[1]), paths[2:] or (".",), day, debug=debug)
    for name, target in targets:
        from lineshaft.write.sheets.impact_formats import document

        deliver(document(name, found, units), target)
    if not to_stdout(targets):
        from lineshaft.write.sheets.impact_text import impact_sheet

        click.echo(impact_sheet(found, units, page()), nl=False)
    for line in (*refused, *found.failures):
        click.echo(clean(f"lineshaft: {line}"), err=True)
    if refused or found.failures:
        return Exit.FAILED
    return told_of(where.broken_rules(), Exit.FINDINGS if _breaks(found, fail_on) else Exit.CLEAN)



def _breaks(found: Comparison, fail_on: str) -> bool:
    broken = (each.finding for rig in found.rigs for each in rig.broken)
    return any(as_grave(finding.level, fail_on) for finding in broken)


class _Rig(NamedTuple):
    """One rig: what a change does to it, none where there is nothing to compare it with; what crashed; what to note."""

    impact: RigImpact | None = None
    crashes: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def _between(
    where: Checker, editions: tuple[str, str], paths: tuple[str, ...], day: date, *, debug: bool
) -> tuple[Comparison, tuple[str, ...]]:
    """What lies between two editions, for every rig that uses one of them."""
    sides = [_catalogue(where, name) for name in editions]
    found, notices = find(paths), []
    failures: list[str] = []
    done: list[_Rig] = []
    for path in _rigs(where, found, failures):
        one = attempted(_shown(where, path), partial(_by_both, where, path, sides, day), failures.append, debug=debug)
        done += [] if one is None else [one]
    failures += (crash for one in done for crash in one.crashes)
    rigs = [one.impact for one in done if one.impact is not None]
    foreign = len(done) - len(rigs)
    if foreign:
        many = f"{foreign} rig{'s' if foreign > 1 else ''}"
        notices.append(f"{many} left out: worked out by another catalogue")
    if not rigs:
        notices.append("no rig here is worked out by one of these catalogues")
    named = [Side(catalogue.tree.source.shown, catalogue.edition) for _, catalogue in sides]
    ratings = changed_ratings(sides[0][1], sides[1][1])
    return _compared(named[0], named[1], ratings, rigs, notices, failures), found.refused()


def _by_both(where: Checker, path: Path, sides: list[tuple[Path, Catalogue]], day: date) -> _Rig:
    """A rig by both editions, where it is worked out by one of them."""
    (old, _), (new, after) = sides
    resolved = where.resolved(path)
    uses = _catalogue_of(resolved, path)
    if uses is None:
        shown = resolved.loader.repository.shown(path)
        lack = "it or its catalogue cannot be read"
        raise CannotDoError(f"{shown} is not compared, {lack}: see `lineshaft check {shown}`")
    if uses.tree.source.path not in (old, new) and uses.name != after.name:
        return _Rig()
    loaders = resolved.loader.with_catalogue(old), resolved.loader.with_catalogue(new)
    states = judged(resolved, loaders[0], path, day), judged(resolved, loaders[1], path, day)
    return _Rig(impact(*states, path), tuple(_crashes(states)))


def _catalogue(where: Checker, name: str) -> tuple[Path, Catalogue]:
    path = Path(name)
    if not path.is_file() or kind_of(path) != "catalogue":
        raise CannotDoError(f"{name!r} is not a catalogue (*.catalogue.yaml) that exists")
    at = path.parent.resolve() / path.name
    real = where.loader(at).repository.real(at)
    catalogue, faults = where.loader(at).catalogue(real)
    if catalogue is None or faults:
        raise CannotDoError(f"{name} has faults: see `lineshaft check {name}`")
    return real, catalogue


def _catalogue_of(resolved: ResolvedPolicy, path: Path) -> Catalogue | None:
    tree = resolved.loader.tree(path, "rig")
    return None if isinstance(tree, tuple) else resolved.loader.catalogue_of(tree)[0]


def _rigs(where: Checker, found: Found, failures: list[str]) -> Iterator[Path]:
    """The rigs that no policy leaves out; a policy that cannot be used is told, and what it holds for left alone."""
    for path, kind in found.files:
        if kind == "rig":
            try:
                excluded = where.resolved(path).excludes(path)
            except BadPolicyError as error:
                failures.append(str(error))
                continue
            if not excluded:
                yield path


def _shown(where: Checker, path: Path) -> str:
    return where.plain_loader(path).repository.shown(path)


def _since(
    where: Checker, name: str, paths: tuple[str, ...], day: date, *, debug: bool
) -> tuple[Comparison, tuple[str, ...]]:
    """What the changes since a revision do to the rigs in some paths."""
    found = find(paths)
    failures: list[str] = []
    roots: dict[Path, list[Path]] = {}
    for path in _rigs(where, found, failures):
        roots.setdefault(root_of(path.parent), []).append(path)
    rigs: list[RigImpact] = []
    notices = [] if roots else ["no rig file (*.rig.yaml) to compare"]
    commit = ""
    for root, here in (roots or {root_of(where.working): []}).items():
        revision = open_revision(root, name, where.max_bytes)
        commit = revision.commit
        loader = Loader(revision.repository(where.working), where.bounds)
        shown = loader.repository.shown
        moved = moved_rigs(revision, loader, where.loader, here)
        then = _Then(where, name, revision, loader, moved, day)
        for path in here:
            one = attempted(shown(path), partial(then.compared, path), failures.append, debug=debug)
            if one is not None:
                failures += one.crashes
                notices += one.notes
                rigs += [] if one.impact is None else [one.impact]
        unread_here = sorted(revision.unread.items())
        failures += (f"{shown(root / file)} cannot be read in {name}: {reason}" for file, reason in unread_here)
        notices += (f"{shown(path)} is there no more" for path in moved.gone if _among(path, paths))
    side = Side(revision=f"{name} ({commit[:12]})" if commit != name else name)
    return _compared(side, Side(), (), rigs, notices, failures), found.refused()


class _Then(NamedTuple):
    """A revision called ``name`` that rigs are compared with."""

    where: Checker
    name: str
    revision: Revision
    loader: Loader
    moved: Moved
    day: date

    def compared(self, path: Path) -> _Rig:
        """One rig with what it was there."""
        where, name, revision, loader, day = self.where, self.name, self.revision, self.loader, self.day
        shown = loader.repository.shown
        was = path if revision.holds(path) else self.moved.before.get(path)
        if was is None:
            return _Rig(notes=(f"{shown(path)} is not in {name}: nothing to compare it with",))
        notes = [f"{shown(path)} was {shown(was)} in {name}"] if was != path else []
        then, resolved = _resolved_then(where, revision, loader, was), where.resolved(path)
        states = judged(then, then.loader, was, day), judged(resolved, resolved.loader, path, day)
        crashes = tuple(_crashes(states))
        unread = {shown(revision.root / file) for file in revision.unread}
        unread &= {finding.file for finding in states[0].findings}
        if unread:
            notes.append(f"{shown(path)} is not compared with {name}, for want of {', '.join(sorted(unread))}")
            return _Rig(None, crashes, tuple(notes))
        if not states[0].known:
            lack = f"its catalogue in {name} could not be used"
            notes.append(f"{shown(path)}: {lack}, so all that is wrong now counts as new and nothing is to blame")
        return _Rig(impact(*states, path), crashes, tuple(notes))


def _compared(
    old: Side, new: Side, ratings: tuple[Rating, ...], rigs: list[RigImpact], notices: list[str], failures: list[str]
) -> Comparison:
    """What was compared; that something could not be stands among the notices of every document too."""
    once = tuple(dict.fromkeys(failures))
    return Comparison(old, new, ratings, tuple(worst_first(rigs)), (*once, *notices), once)


def _crashes(states: tuple[Judged, Judged]) -> Iterator[str]:
    """The rules that crashed on a rig in either state: what they would have found is not known."""
    for finding in (*states[0].findings, *states[1].findings):
        if finding.rule in (CRASHED, INTERNAL):
            yield f"{finding.file}: {''.join(map(str, finding.message))}"


def _among(path: Path, named: tuple[str, ...]) -> bool:
    return any(path.is_relative_to(os.path.realpath(each)) for each in named)


def _resolved_then(where: Checker, revision: Revision, loader: Loader, path: Path) -> ResolvedPolicy:
    """What held for a file: the policy and the catalogues of that revision."""
    return resolved_policy_of(loader, revision.nearest(path.parent, FILE_NAMES), where.book)
