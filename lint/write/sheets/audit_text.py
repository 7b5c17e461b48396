"""An audit as a person reads it: what was read, what explains it, what is dangerous, what to read next."""

import difflib
from collections.abc import Iterator, Sequence

from lineshaft.audit.as_built import AsBuilt, Comparison
from lineshaft.audit.diagnosis import Compared, Diagnosis, Explanation
from lineshaft.audit.next_reading import Group
from lineshaft.audit.search import MOST_DEVIATIONS
from lineshaft.check.finding import Measure
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.write.cautions import cautions_on
from lineshaft.write.page import ENDLESS, Page
from lineshaft.write.sheets.audit_json import Audit, place_name
from lineshaft.write.shown_units import Units, figures, measure, words
from lineshaft.write.table import Cell, Toned, fits_in_columns, table
from lineshaft.write.worst_first import worst_first

_HEAD = ("read at", "torque, computed", "read", "off", "speed, computed", "read", "off", "")
_NAMES = ("", "torque computed", "torque read", "off", "speed computed", "speed read", "off", "")
_NARROW = ("read at", "torque, computed and read", "speed, computed and read", "")
_RIGHT = frozenset({1, 2, 3, 4, 5, 6})
_FINDINGS = 3
_IN, _FURTHER = " " * 6, " " * 8
_MOST_NAMED = 12


def audit_sheet(audit: Audit, units: Units, page: Page = ENDLESS) -> str:
    """The readings as a table, the explanations with edits and dangers, what to read next, what is not covered."""
    rig, found = audit.rig, audit.diagnosis
    name = f"  “{rig.rig.name}”" if rig.rig.name else ""
    count = len(rig.rig.readings)
    head = f"{rig.file}{name}  ({len(rig.parts)} parts, {count} reading{'s' if count != 1 else ''})"
    lines = [*(page.ink(line, "strong") for line in page.lines(head, "", "  ")), ""]
    if count:
        lines += [_readings([_row(audit, reading, units) for reading in range(count)], page)]
    for told in _verdict(audit):
        lines += page.lines(told)
    for number, build in enumerate(audit.builds, 1):
        lines += _explanation(audit, number, build, units, page)
    lines += _further(audit, units, page)
    lines += _uncovered(audit, page)
    text = "\n".join(lines) + "\n"
    return f"{text}\n{cautions_on(page)}" if found.wrong else text


def _readings(rows: list[list[Cell]], page: Page) -> str:
    """The readings as a table; on a narrow page all about torque, and about speed, in one column each."""
    if not fits_in_columns(_HEAD, rows, page):
        narrow = [[row[0], _one_column(row[1:4]), _one_column(row[4:7]), row[7]] for row in rows]
        if fits_in_columns(_NARROW, narrow, page):
            return table(_NARROW, narrow, frozenset(), page)
    return table(_HEAD, rows, _RIGHT, page, _NAMES)


def _one_column(cells: Sequence[Cell]) -> str:
    computed, read, off = map(str, cells)
    if not read:
        return ""
    return f"{computed}, read {read}" + (f", off {off}" if off else "")


def _row(audit: Audit, reading: int, units: Units) -> list[Cell]:
    written = audit.rig.rig.readings[reading]
    own = {one.measured.quantity: one for one in audit.diagnosis.compared if one.measured.reading == reading}
    cells = [*_cells(own.get("torque"), "N*m", units), *_cells(own.get("speed"), "rad/s", units)]
    if any(one.value is None for one in own.values()):
        verdict: Cell = "not solved"
    else:
        verdict = Toned("disagrees", "error") if any(one.wrong for one in own.values()) else "agrees"
    return [written.at, *cells, verdict]


def _cells(one: Compared | None, unit: str, units: Units) -> list[str]:
    if one is None:
        return ["", "", ""]
    read = measure(Measure(one.measured.read, unit), units)
    if one.value is None:
        return ["-", read, ""]
    off = f"{figures(round(100 * (one.measured.read / one.value - 1), 2))} %" if one.value else ""
    return [measure(Measure(one.value, unit), units), read, off]


def _verdict(audit: Audit) -> Iterator[str]:
    found = audit.diagnosis
    if not found.compared:
        yield "No readings are written in this file: add `readings:` with what was read on the standing build."
    elif not found.wrong:
        yield f"{_solved(found, 'Every reading')} agrees with what is computed."
    if found.explanations:
        ways = len(found.explanations) + found.more
        what = "the other readings" if found.unexplained else _solved(found, "every reading")
        yield f"{_fewest(found)} {what}{'' if ways == 1 else f', in {ways:,} ways'}{_nothing_less(found)}."
        if ways > len(audit.builds):
            yield f"The first {len(audit.builds)} are shown, the more ordinary first."
    if found.unexplained:
        names = ", ".join(place_name(audit, found.compared[k]) for k in found.unexplained)
        tried = f"No {MOST_DEVIATIONS} deviations or fewer, no common cause and no single wrong reading"
        if not found.complete:
            tried = "Nothing that was tried"
        text = f"{tried} explain{'' if found.complete else 's'}: {names}. Look at the readings, and at what drives"
        yield f"{text} what: a part driven by another one is none of the deviations tried."
    if not found.complete:
        yield "Not everything within the bounds of the search was tried; there may be more explanations."


def _solved(found: Diagnosis, readings: str) -> str:
    """All readings, but those that stand where nothing is computed: these say nothing."""
    return f"{readings} that can be computed" if any(one.value is None for one in found.compared) else readings


def _fewest(found: Diagnosis) -> str:
    """What explains: so many deviations of the build, a wrong reading, or either; the more likely first."""
    builds = [e for e in found.explanations if not _is_misread(e)]
    said = [_together(builds[0])] if builds else []
    if len(builds) < len(found.explanations):
        said.insert(0 if _is_misread(found.explanations[0]) else 1, "one wrong reading")
    text = ", or ".join(said)
    verb = "explain" if said[-1].endswith("together") else "explains"
    return f"{text[:1].upper()}{text[1:]}{',' if len(said) > 1 else ''} {verb}"


def _together(explanation: Explanation) -> str:
    """For example `one deviation`, `2 deviations together`, `one deviation and one wrong reading together`."""
    misread = sum(deviation.kind == "wrong-reading" for deviation in explanation.deviations)
    built = explanation.causes - misread
    what = "common cause" if explanation.common and explanation.causes == 1 else "deviation"
    said = " and ".join(_some(count, name) for count, name in ((built, what), (misread, "wrong reading")) if count)
    return f"{said} together" if explanation.causes > 1 else said


def _some(count: int, name: str) -> str:
    return f"one {name}" if count == 1 else f"{count} {name}s"


def _nothing_less(found: Diagnosis) -> str:
    """That fewer do not explain; where not all was tried, that none was found."""
    first = found.explanations[0]
    if first.causes > 1:
        return "; nothing less does" if found.complete else "; of what was tried nothing less does"
    if not _is_misread(first):
        return ""
    return "; no single deviation does" if found.complete else "; of what was tried no single deviation does"


def _is_misread(explanation: Explanation) -> bool:
    return [d.kind for d in explanation.deviations] == ["wrong-reading"]


def _explanation(audit: Audit, number: int, build: AsBuilt, units: Units, page: Page) -> Iterator[str]:
    said = "; and ".join(words(one.words, units) for one in build.said)
    common = ": one common cause" if build.explanation.common else ""
    yield ""
    yield from page.lines(f"{said}{common}.", f"  {number:>2}. ", _IN)
    misfit = figures(round(100 * build.explanation.misfit, 1))
    yield f"      what is left over is {misfit} % of the tolerance"
    for line, text in _changed_lines(audit, build):
        yield from page.lines(f"edit {number}, line {line}: {text}", _IN, _FURTHER)
    for by_hand in build.by_hand:
        yield from page.lines(f"by hand: {words(by_hand, units)}", _IN, _FURTHER)
    for danger in _dangers(build, units):
        yield from page.lines(danger, _IN, _FURTHER)


def _changed_lines(audit: Audit, build: AsBuilt) -> Iterator[tuple[int, str]]:
    """The lines of the file that the edits change, one by one, with what they become; new ones with where they go."""
    if build.text is None:
        return
    before, after = audit.rig.rig.tree.source.text.splitlines(), build.text.splitlines()
    for tag, i, end, j, last in difflib.SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        if tag == "equal":
            continue
        now = [line.strip() for line in after[j:last]]
        for number, line in enumerate(before[i:end]):
            yield i + number + 1, now[number] if number < len(now) else f"goes ({line.strip()})"
        for line in now[end - i :]:
            yield end + 1, f"new: {line}"


def _dangers(build: AsBuilt, units: Units) -> Iterator[str]:
    """What the build as it stands has of errors and warnings that the file has not, or not so bad; the worst first."""
    compared = {id(f): c for f, c in zip(build.findings, build.compared, strict=True)}
    grave = [finding for finding in worst_first(build.findings) if finding.level != "note" and finding.waived is None]
    apart = [finding for finding in grave if compared[id(finding)] != "known"]
    same = len(grave) - len(apart)
    if not grave:
        yield "as it stands no error and no warning"
    elif not apart:
        yield f"as it stands nothing is wrong that the file has not: {same} as there"
    for finding in apart[:_FINDINGS]:
        yield f"as it stands {_danger(finding, compared[id(finding)], units)}"
    rest = [f"{len(apart) - _FINDINGS} more"] if len(apart) > _FINDINGS else []
    rest += [f"{same} as in the file"] if apart and same else []
    if rest:
        yield f"and {', and '.join(rest)}"


def _danger(finding: JudgedFinding, compared: Comparison, units: Units) -> str:
    part = f" part {finding.home[1]}" if finding.part else ""
    also = " (worse than in the file)" if compared == "worse" else ""
    return f"{finding.level.upper()} {finding.rule}{part}: {words(finding.message, units)}{also}"


def _further(audit: Audit, units: Units, page: Page) -> Iterator[str]:
    further, found = audit.further, audit.diagnosis
    if len(found.explanations) < 2:
        return
    yield ""
    if further is None:
        yield from page.lines("No further reading of torque or speed tells these apart: look at the parts themselves.")
        return
    unit = "N*m" if further.quantity == "torque" else "rad/s"
    groups = "; ".join(_group(group, unit, units, len(audit.builds)) for group in further.groups)
    at = audit.outlet_name(further.part, further.outlet)
    yield from page.lines(f"To tell them apart read the {further.quantity} at {at}: {groups}.", "", "  ")


def _group(group: Group, unit: str, units: Units, shown: int) -> str:
    low, high = (measure(Measure(value, unit), units) for value in (group.low, group.high))
    value = low if low == high else f"{low} to {high}"
    numbers = [k + 1 for k in group.explanations if k < shown]
    rest = len(group.explanations) - len(numbers)
    pieces = [", ".join(map(str, numbers))] if numbers else []
    pieces += [f"{rest} more"] if rest else []
    return f"{value} means {' and '.join(pieces)}"


def _uncovered(audit: Audit, page: Page) -> Iterator[str]:
    if not audit.diagnosis.compared:
        return
    for parts, why in (
        (audit.coverage.nothing, "No reading covers"),
        (audit.coverage.torque, "Of these the readings cover speed alone, a loss of torque would not show"),
    ):
        if parts:
            yield ""
            yield from page.lines(f"{why}: {_names(audit, parts)}.", "", "  ")


def _names(audit: Audit, parts: Sequence[int]) -> str:
    named = ", ".join(audit.rig.parts[n].name for n in parts[:_MOST_NAMED])
    return f"{named} and {len(parts) - _MOST_NAMED} more" if len(parts) > _MOST_NAMED else named
