"""Repairs as the report shows them: cost, effect, the command and the lines that change, the rig before and after."""

import shlex
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from markupsafe import Markup

from lineshaft.check.judged_finding import Repair, RepairedFinding
from lineshaft.report_model.record import PicturedRepair
from lineshaft.write.drawing.marks import tag, verdict_words
from lineshaft.write.finding_words import costs
from lineshaft.write.html_report.charts import Most
from lineshaft.write.html_report.drawings import Leads, drawing
from lineshaft.write.shown_units import Units, before_and_after


class Mended(NamedTuple):
    """A finding that a repair mends: its tag and id."""

    tag: str
    id: str


class PictureView(NamedTuple):
    """A repair with its pictures, under its number in the list of `lineshaft repair`."""

    id: str
    number: int
    title: str
    effect: str
    cost: str
    bill: str
    machines: str
    mends: tuple[Mended, ...]
    command: str
    diff: tuple[str, ...]
    before: Markup
    after: Markup
    verdict: str


def repair_views(
    repairs: Sequence[PicturedRepair],
    findings: Sequence[RepairedFinding],
    file: str,
    name: str,
    most: Most,
    units: Units,
) -> tuple[PictureView, ...]:
    """The views of a rig's repairs; ``name`` begins their ids and those of its findings."""
    tags = {one.fingerprint: n for n, finding in enumerate(findings, 1) for one in finding.alike or (finding,)}
    return tuple(_view(one, findings, tags, file, name, most, units) for one in repairs)


def _view(
    one: PicturedRepair,
    findings: Sequence[RepairedFinding],
    tags: Mapping[str, int],
    file: str,
    name: str,
    most: Most,
    units: Units,
) -> PictureView:
    own, repair = f"{name}-repair-{one.number}", one.repair
    numbers = sorted({tags[mended] for mended in one.mends if mended in tags})
    return PictureView(
        own,
        one.number,
        repair.title,
        effect_words(repair),
        costs(repair.worth),
        bill_words(repair),
        machine_words(repair),
        tuple(Mended(tag(findings[n - 1].level, n), f"{name}-finding-{n}") for n in numbers),
        f"lineshaft repair {shlex.quote(file)} --apply {one.number}",
        one.diff,
        drawing(one.before, findings, Leads(f"{own}-before"), most, units, "Before:"),
        drawing(one.after, one.left, Leads(f"{own}-after"), most, units, "After:"),
        verdict_words(one.left)[1],
    )


def effect_words(repair: Repair) -> str:
    """How far it reaches, for example `substitution`, `redesign, +2 parts`."""
    return f"{repair.effect}, {repair.parts_added:+d} parts" if repair.parts_added else repair.effect


def bill_words(repair: Repair) -> str:
    """What it takes and frees, for example `+2 steel-bar, -2 bar`."""
    return ", ".join(f"{count:+d} {name}" for name, count in repair.bill) or "nothing to buy"


def machine_words(repair: Repair) -> str:
    """What it does to machines, in units of work an hour."""
    changes = ((one.part, *before_and_after(one)) for one in repair.machines)
    return "; ".join(f"{part}: {before} before, {after} after" for part, before, after in changes) or "as before"
