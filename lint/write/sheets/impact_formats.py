"""An impact in the formats of `check`: its own JSON and Markdown, and what newly breaks through the other writers."""

from dataclasses import replace

from lineshaft import __version__
from lineshaft.changes.editions import Rating
from lineshaft.changes.impact import Broken, Comparison, RigImpact, Side
from lineshaft.check.judged_finding import RepairedFinding, repaired
from lineshaft.solve.movements import Pair
from lineshaft.write.findings_json import finding_document
from lineshaft.write.formats import WRITERS
from lineshaft.write.json_text import json_text
from lineshaft.write.sheets.impact_words import blame_words
from lineshaft.write.shown_units import Units
from lineshaft.write.summary import FileReport, Run

FORMAT = "lineshaft-impact/1"


def document(name: str, found: Comparison, units: Units) -> bytes:
    """The bytes of a format: the whole impact as JSON or Markdown, else what newly breaks or gets worse as findings."""
    if name == "json":
        return impact_json(found)
    if name == "markdown":
        from lineshaft.write.sheets.impact_markdown import impact_markdown

        return impact_markdown(found, units)
    return WRITERS[name](_run(found, units))


def _run(found: Comparison, units: Units) -> Run:
    """A run whose findings are those that are new or worse, each with the rating to blame in its message."""
    reports = tuple(
        FileReport(rig.file, rig.name, 0, 0, tuple(_blaming(broken, units) for broken in (*rig.broken, *rig.worse)))
        for rig in sorted(found.rigs, key=lambda rig: rig.file)
    )
    return Run(__version__, reports, found.notices, units=units)


def _blaming(broken: Broken, units: Units) -> RepairedFinding:
    finding, blame = broken.finding, blame_words(broken, units)
    return repaired(replace(finding, message=(*finding.message, f"; to blame: {blame}")) if blame else finding)


def impact_json(found: Comparison) -> bytes:
    """One document, `lineshaft-impact/1`: its published form, kept apart from the types inside."""
    return json_text(
        {
            "format": FORMAT,
            "version": __version__,
            "old": _side(found.old),
            "new": _side(found.new),
            "ratings": [_rating(rating) for rating in found.ratings],
            "rigs": [_rig(rig) for rig in found.rigs],
            "notices": list(found.notices),
        }
    )


def _side(side: Side) -> dict[str, object]:
    return {"file": side.file, "edition": side.edition, "revision": side.revision}


def _rating(rating: Rating) -> dict[str, object]:
    return {
        "section": rating.section,
        "name": rating.name,
        "rating": rating.what or None,
        "old": rating.old,
        "new": rating.new,
        "unit": rating.unit or None,
    }


def _rig(rig: RigImpact) -> dict[str, object]:
    return {
        "file": rig.file,
        "name": rig.name,
        "verdict": rig.verdict,
        "broken": [_broken(broken) for broken in rig.broken],
        "worse": [_broken(broken) for broken in rig.worse],
        "mended": [finding_document(repaired(finding)) for finding in rig.mended],
        "parts": [
            {
                "part": move.part,
                "torque": _pair(move.torque, "N*m"),
                "speed": _pair(move.speed, "rad/s"),
                "share_of_limit": _pair(move.share, "1"),
            }
            for move in rig.moves.parts
        ],
        "machines": [
            {"part": move.part, "work": move.unit, "per_hour": _pair(move.rate, "1")} for move in rig.moves.machines
        ],
        "came": list(rig.moves.came),
        "gone": list(rig.moves.gone),
        "ratings": [_rating(rating) for rating in rig.ratings],
    }


def _pair(pair: Pair, unit: str) -> dict[str, object]:
    return {"old": pair.old, "new": pair.new, "unit": unit}


def _broken(broken: Broken) -> dict[str, object]:
    return {
        "finding": finding_document(repaired(broken.finding)),
        "was": None if broken.was is None else finding_document(repaired(broken.was)),
        "blame": [_rating(rating) for rating in broken.blame],
        "together": broken.together,
    }
