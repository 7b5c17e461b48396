"""``lineshaft impact``: what another edition of a catalogue, or a change since a revision, breaks, mends and moves."""

import os
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import click

from lineshaft.changes.editions import Rating, changed_ratings
from lineshaft.changes.impact import Comparison, Judged, RigImpact, Side, impact, judged, worst_first
from lineshaft.changes.moved_rigs import moved_rigs
from lineshaft.changes.revision import Revision, open_revision
from lineshaft.check.checker import Checker
from lineshaft.check.registry import CRASHED, INTERNAL
from lineshaft.check.resolved_policy import ResolvedPolicy, resolved_policy_of
from lineshaft.check.rulebook import open_rulebook
from lineshaft.commands.one_rig import checker
from lineshaft.commands.options import as_grave, day_option, fail_on_option, units_option
from lineshaft.commands.output import deliver, targets_of, to_stdout, told_of
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
        found, refused = _since(where, base, paths or (".",), day)
    elif len(paths) < 2:
        raise click.UsageError("impact takes two catalogues, OLD and NEW, or --base REV")
    else:
        found, refused = _between(where, paths[0], paths[1], paths[2:] or (".",), day)
    for name, target in targets:
        from lineshaft.write.sheets.impact_formats import document

        deliver(document(name, found, units), target)
    if not to_stdout(targets):
        from lineshaft.write.sheets.impact_text import impact_sheet

        click.echo(impact_sheet(found, units), nl=False)
    for line in (*refused, *found.failures):
        click.echo(clean(f"lineshaft: {line}"), err=True)
    if refused or found.failures:
        return Exit.FAILED
    return told_of(where.broken_rules(), Exit.FINDINGS if _breaks(found, fail_on) else Exit.CLEAN)



def _breaks(found: Comparison, fail_on: str) -> bool:
    broken = (each.finding for rig in found.rigs for each in rig.broken)
    return any(as_grave(finding.level, fail_on) for finding in broken)


def _between(
    where: Checker, old: str, new: str, paths: tuple[str, ...], day: date
) -> tuple[Comparison, tuple[str, ...]]:
    """What lies between two editions, for every rig that uses one of them."""
    sides = [_catalogue(where, name) for name in (old, new)]
    (old_path, before), (new_path, after) = sides
    rigs, found, notices = [], find(paths), []
    failures: list[str] = []
    foreign = 0
    for path in _rigs(where, found):
        resolved = where.resolved(path)
        uses = _catalogue_of(resolved, path)
        if uses is None or (uses.tree.source.path not in (old_path, new_path) and uses.name != after.name):
            foreign += 1
            continue
        loaders = resolved.loader.with_catalogue(old_path), resolved.loader.with_catalogue(new_path)
        states = judged(resolved, loaders[0], path, day), judged(resolved, loaders[1], path, day)
        failures += _crashes(states)
        rigs.append(impact(*states, path))
    if foreign:
        many = f"{foreign} rig{'s' if foreign > 1 else ''}"
        notices.append(f"{many} left out: worked out by another catalogue, or by none that is sound")
    if not rigs:
        notices.append("no rig here is worked out by one of these catalogues")
    named = [Side(catalogue.tree.source.shown, catalogue.edition) for _, catalogue in sides]
    ratings = changed_ratings(before, after)
    return _compared(named[0], named[1], ratings, rigs, notices, failures), found.refused()


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


def _rigs(where: Checker, found: Found) -> Iterator[Path]:
    return (path for path, kind in found.files if kind == "rig" and not where.resolved(path).excludes(path))


def _since(where: Checker, name: str, paths: tuple[str, ...], day: date) -> tuple[Comparison, tuple[str, ...]]:
    """What the changes since a revision do to the rigs in some paths."""
    found = find(paths)
    roots: dict[Path, list[Path]] = {}
    for path in _rigs(where, found):
        roots.setdefault(root_of(path.parent), []).append(path)
    rigs: list[RigImpact] = []
    notices = [] if roots else ["no rig file (*.rig.yaml) to compare"]
    failures: list[str] = []
    commit = ""
    for root, here in (roots or {root_of(where.working): []}).items():
        revision = open_revision(root, name, where.max_bytes)
        commit = revision.commit
        loader = Loader(revision.repository(where.working), where.bounds)
        moved = moved_rigs(revision, loader, where.loader, here)
        shown = loader.repository.shown
        for path in here:
            was = path if revision.holds(path) else moved.before.get(path)
            if was is None:
                notices.append(f"{shown(path)} is not in {name}: nothing to compare it with")
                continue
            if was != path:
                notices.append(f"{shown(path)} was {shown(was)} in {name}")
            then, resolved = _resolved_then(where, revision, loader, was), where.resolved(path)
            states = judged(then, then.loader, was, day), judged(resolved, resolved.loader, path, day)
            failures += _crashes(states)
            unread = {shown(root / file) for file in revision.unread}.intersection(f.file for f in states[0].findings)
            if unread:
                notices.append(f"{shown(path)} is not compared with {name}, for want of {', '.join(sorted(unread))}")
                continue
            if not states[0].known:
                lack = f"its catalogue in {name} could not be used"
                notices.append(f"{shown(path)}: {lack}, so all that is wrong now counts as new and nothing is to blame")
            rigs.append(impact(*states, path))
        unread_here = sorted(revision.unread.items())
        failures += (f"{shown(root / file)} cannot be read in {name}: {reason}" for file, reason in unread_here)
        notices += (f"{shown(path)} is there no more" for path in moved.gone if _among(path, paths))
    side = Side(revision=f"{name} ({commit[:12]})" if commit != name else name)
    return _compared(side, Side(), (), rigs, notices, failures), found.refused()


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
    """The site of a file as it was: the policy and the catalogues of that revision."""
    return resolved_policy_of(loader, revision.nearest(path.parent, FILE_NAMES), where.book)
