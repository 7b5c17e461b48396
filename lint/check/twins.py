"""The twins of rules, judged: one file that breaks a rule, and one, a thing apart, that holds."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from lineshaft.check.checker import Checker
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.registry import registry
from lineshaft.check.rulebook import Rulebook
from lineshaft.schema.loading import FileKind, kind_of

_NEAR = 1e-9  # relative: how far a value may lie from the one expected


class TwinsOutcome(NamedTuple):
    """A rule, and what is wrong with its twins, in words; nothing where they are sound."""

    rule: str
    faults: tuple[str, ...]


def judged_twins(folder: Path, book: Rulebook) -> tuple[TwinsOutcome, ...]:
    """Each rule of the distributions that have one with a folder here, sorted by id; none where nobody has."""
    entries = registry().rules
    named = {entry.distribution for entry in entries if (folder / entry.id).is_dir()}
    ids = [entry.id for entry in entries if entry.distribution in named and book.rule(entry.id) is not None]
    checker = Checker(folder, book)
    return tuple(TwinsOutcome(name, tuple(_faults(name, folder / name, checker))) for name in ids)


def _faults(rule: str, folder: Path, checker: Checker) -> Iterator[str]:
    breaks, holds = (sorted(folder.glob(f"{which}.*.y*ml")) for which in ("breaks", "holds"))
    if not breaks:
        yield f"no failing twin: {rule}/breaks.rig.yaml is not there"
    if not holds:
        yield f"no sound twin: {rule}/holds.rig.yaml is not there"
    for file in (*breaks, *holds):
        kind = kind_of(file)
        if kind is None:
            which = file.name.partition(".")[0]
            yield f"{file.name} is not named like a file that is judged, {which}.rig.yaml for instance"
        elif file in breaks:
            yield from _no_break(file, rule, _findings(file, kind, checker))
        else:
            left = [f"{f.rule} at line {f.span.start.line}" for f in _findings(file, kind, checker)]
            if left:
                yield f"{file.name} does not hold: {', '.join(left)}"


def _findings(file: Path, kind: FileKind, checker: Checker) -> list[JudgedFinding]:
    found = checker.judged(checker.job(file, kind)).report.findings
    return [finding for finding in found if finding.waived is None]


def _no_break(file: Path, rule: str, findings: list[JudgedFinding]) -> Iterator[str]:
    """What a twin that is to break a rule lacks."""
    found = [finding for finding in findings if finding.rule == rule]
    if not found:
        yield f"{file.name} does not break it"
    yield from _against(file.with_name("expected.json"), file.name, rule, found)


def _against(expected: Path, name: str, rule: str, found: list[JudgedFinding]) -> Iterator[str]:
    """What differs from the findings that were written down beforehand, where somebody did."""
    if not expected.is_file():
        return
    try:
        entries = [entry for entry in json.loads(expected.read_text("utf-8")) if entry["rule"] == rule]
        listed = [(int(e["line"]), str(e["part"]), str(e["level"]), e.get("values")) for e in entries]
    except (OSError, ValueError, TypeError, KeyError) as error:
        yield f"{expected.name} is no list of findings with rule, level, part and line ({type(error).__name__})"
        return
    wanted = sorted(row[:3] for row in listed)
    got = sorted((finding.span.start.line, str(finding.part), str(finding.level)) for finding in found)
    if got != wanted:
        yield f"{name} gives {_listed(got)}, expected {_listed(wanted)}"
        return
    for finding in found:
        place = (finding.span.start.line, str(finding.part))
        values = next(row[3] for row in listed if row[:2] == place)
        given = {key: measure.value for key, measure in finding.values}
        if values is not None and not _same(given, values):
            yield f"{name} line {place[0]} gives the values {given}, expected {values}"


def _same(given: dict[str, Any], wanted: Any) -> bool:
    named = isinstance(wanted, dict) and given.keys() == wanted.keys()
    return named and all(_close(given[key], wanted[key]) for key in given)


def _close(given: Any, wanted: Any) -> bool:
    if isinstance(given, str):
        return bool(given == wanted)
    if isinstance(given, tuple):
        return isinstance(wanted, list) and len(given) == len(wanted) and all(map(_close, given, wanted))
    return isinstance(wanted, int | float) and bool(abs(given - wanted) <= _NEAR * abs(wanted))


def _listed(findings: list[tuple[int, str, str]]) -> str:
    return ", ".join(f"{level} of {part} at line {line}" for line, part, level in findings) or "nothing"
