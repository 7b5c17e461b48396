"""The report of a run: one HTML file that needs nothing else, with a content policy that lets nothing else in.

Templates escape every value (Jinja2 autoescape); every text that comes from a file is made visible and harmless before.
The style sheet and the script are ours, and named in the policy by their hashes.
"""

from collections.abc import Sequence
from typing import NamedTuple

from markupsafe import Markup

from lineshaft.check.judged_finding import RepairedFinding
from lineshaft.check.level import LEVELS
from lineshaft.check.shared_causes import by_cause
from lineshaft.write.cautions import CAUTIONS
from lineshaft.write.drawing.style import CHART_STYLE, COLOURS, STYLE
from lineshaft.write.finding_words import uses_words
from lineshaft.write.html_report.charts import BRIEF, FULL
from lineshaft.write.html_report.findings import FindingView
from lineshaft.write.html_report.rigs import RigView, rig_view
from lineshaft.write.html_report.templates import content_policy, environment, text_of
from lineshaft.write.summary import Counts, FileReport, Run, counts, rigs_that_do_not_hold, verdict
from lineshaft.write.worst_first import counted, kept_by_level, worst_first

MOST_FINDINGS = 5000
"""Most findings in a report: past it the worse ones are kept."""
MANY_FILES = 100
"""Past so many files each rig gets fewer curves, so that the report still opens at once."""
SHOWN_AT_ONCE = 40
"""So many findings head the report; the others are folded below them."""
_TEMPLATES = ("page.html", "rig.html", "finding.html")


class Tile(NamedTuple):
    """A number and what it counts."""

    number: str
    words: str


class PageView(NamedTuple):
    """What stands around the rigs."""

    verdict: str
    mood: str
    inspected: str
    tiles: tuple[Tile, ...]
    worst: tuple[FindingView, ...]
    worst_folded: tuple[FindingView, ...]
    notices: tuple[str, ...]
    cautions: tuple[str, ...]
    kinds: tuple[str, ...]
    rules: tuple[str, ...]
    rigs: tuple[RigView, ...]
    accepted: tuple[FindingView, ...]
    version: str


def html_report(run: Run) -> bytes:
    """The report, UTF-8; the same bytes for the same run."""
    style = COLOURS + STYLE + CHART_STYLE + text_of("style.css")
    script = text_of("script.js")
    policy = content_policy(style, script)
    template = environment(_TEMPLATES).get_template("page.html")
    text = template.render(page=_page(run), policy=policy, style=Markup(style), script=Markup(script))
    return f"{text}\n".encode("utf-8", "backslashreplace")


def _page(run: Run) -> PageView:
    run = run._replace(reports=tuple(one._replace(findings=tuple(by_cause(one.findings))) for one in run.reports))
    reports, left_out = _kept(run)
    most = FULL if len(reports) <= MANY_FILES else BRIEF
    rigs = tuple(
        rig_view(report, n, run.report_models.get(report.file), most, run.units) for n, report in enumerate(reports, 1)
    )
    every = [view for rig in rigs for view in rig.findings]
    found, worst = counts(run), _worst(run, reports, rigs)
    return PageView(
        verdict=_verdict(run),
        mood="bad" if found.errors else "good",
        inspected=f"Inspected {counted(found)}",
        tiles=_tiles(run, found),
        worst=worst[:SHOWN_AT_ONCE],
        worst_folded=worst[SHOWN_AT_ONCE:],
        notices=(*run.notices, *left_out),
        cautions=_cautions(run),
        kinds=tuple(kind for kind in _KINDS if any(one.kind == kind for one in every)),
        rules=tuple(sorted({view.rule for view in every})),
        rigs=tuple(sorted(rigs, key=lambda rig: -rig.worse)),
        accepted=tuple(one for one in every if one.accepted),
        version=run.version,
    )


_KINDS = (*LEVELS, "waived", "snag")


def _kept(run: Run) -> tuple[tuple[FileReport, ...], tuple[str, ...]]:
    """The reports with at most so many findings in all, and the notice that says how many are left out."""
    every = tuple(finding for report in run.reports for finding in report.findings)
    if len(every) <= MOST_FINDINGS:
        return run.reports, ()
    kept = set(map(id, kept_by_level(every, MOST_FINDINGS)))
    reports = tuple(
        report._replace(findings=tuple(f for f in report.findings if id(f) in kept)) for report in run.reports
    )
    return reports, (f"{len(every) - MOST_FINDINGS:,} more findings are left out of this report",)


def _verdict(run: Run) -> str:
    broken = sum(not verdict(report).holds for report in run.reports)
    many = len(run.reports)
    if not many:
        return "Nothing to inspect"
    if broken:
        others = broken - sum(not rig.holds for rig in run.rigs)
        words = [rigs_that_do_not_hold(run)] if broken > others else []
        if others:
            beside = len(words) > 0
            words.append(_files(others, many - len(run.rigs), beside=beside))
        return f"Do not connect power: {', and '.join(words)}"
    warned = counts(run).warnings
    but = f", with {warned:,} warning{'s' if warned != 1 else ''}" if warned else ""
    rigs = len(run.rigs)
    if not rigs:
        return f"Nothing is at fault{but}: {many:,} file{'s' if many != 1 else ''}, no rig"
    return f"Everything holds{but}: {rigs:,} rig{'s' if rigs != 1 else ''}"


def _files(broken: int, many: int, *, beside: bool) -> str:
    """Files that are no rigs and do not hold."""
    other = "other " if beside else ""
    verb = "does" if broken == 1 else "do"
    return f"{broken:,} of {many:,} {other}file{'s' if many != 1 else ''} {verb} not hold"


def _tiles(run: Run, found: Counts) -> tuple[Tile, ...]:
    rigs = [report for report in run.reports if report.kind == "rig"]
    clean = sum(not any(not f.passes for f in report.findings) for report in rigs)
    pairs = (
        (clean, f"of {len(rigs):,} rigs without findings"),
        (found.errors, "errors"),
        (found.warnings, "warnings"),
        (found.notes, "notes"),
        (found.waived, "waived"),
        (found.snags, "snags"),
        (found.unsolved, "parts not solved"),
    )
    return tuple(Tile(f"{number:,}", words) for number, words in pairs)


def _worst(run: Run, reports: Sequence[FileReport], rigs: Sequence[RigView]) -> tuple[FindingView, ...]:
    """The findings to look at, errors before warnings, each once; none that is waived or a snag."""
    views: dict[tuple[str, str | None, str], FindingView] = {}
    for report, rig in zip(reports, rigs, strict=True):
        for finding, view in zip(report.findings, rig.findings, strict=True):
            views.setdefault(_key(finding), view)
    open_ones = (f for f in run.findings if not f.passes and f.level != "note")
    found = ((views.get(_key(finding)), uses_words(finding)) for finding in worst_first(open_ones))
    return tuple(
        view._replace(message=f"{view.message} It shows {where}.") if where else view
        for view, where in found
        if view is not None
    )


def _key(finding: RepairedFinding) -> tuple[str, str | None, str]:
    """What tells the findings of a report apart, a fault of a blueprint by its use."""
    return (*finding.home, finding.fingerprint)


def _cautions(run: Run) -> tuple[str, ...]:
    wanted = any(found.cautions for found in run.report_models.values()) or not run.report_models
    return (CAUTIONS.replace("\n", " ").strip(),) if wanted else ()
