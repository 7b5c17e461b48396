"""An audit as a whole, and its published form, ``lineshaft-audit/1``."""

from typing import NamedTuple

from lineshaft import __version__
from lineshaft.audit.as_built import AsBuilt, Comparison
from lineshaft.audit.coverage import Coverage
from lineshaft.audit.deviation_edits import Expressed
from lineshaft.audit.deviations import Deviation
from lineshaft.audit.diagnosis import Compared, Diagnosis
from lineshaft.audit.next_reading import NextReading
from lineshaft.check.finding import Edit
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.schema.text.span import Span
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.write.json_text import json_text
from lineshaft.write.shown_units import words

FORMAT = "lineshaft-audit/1"


class Audit(NamedTuple):
    """A rig's diagnosis, the first explanations with their builds, the next reading to take, and what none covers."""

    rig: SolvedRig
    diagnosis: Diagnosis
    builds: tuple[AsBuilt, ...]
    further: NextReading | None
    coverage: Coverage

    def outlet_name(self, part: int, outlet: int) -> str:
        """An outlet as a reading names it."""
        found = self.rig.parts[part]
        return f"{found.name}.{found.outlets[outlet]}" if found.outlets else found.name


def place_name(audit: Audit, one: Compared) -> str:
    """A number that was read as a person names it: its quantity and place."""
    return f"{one.measured.quantity} at {audit.rig.rig.readings[one.measured.reading].at}"


def audit_json(audit: Audit) -> bytes:
    """One document, ASCII only inside, that no terminal takes for a command."""
    rig, found = audit.rig, audit.diagnosis
    names = [part.name for part in rig.parts]
    document = {
        "format": FORMAT,
        "version": __version__,
        "file": rig.file,
        "readings": [_reading(audit, one) for one in found.compared],
        "explanations": [_explanation(audit, build) for build in audit.builds],
        "more": len(found.explanations) - len(audit.builds) + found.more,
        "complete": found.complete,
        "unexplained": list(found.unexplained),
        "next_reading": _further(audit),
        "not_covered": {
            "at_all": [names[n] for n in audit.coverage.nothing],
            "in_torque": [names[n] for n in audit.coverage.torque],
        },
    }
    return json_text(document)


def _reading(audit: Audit, one: Compared) -> dict[str, object]:
    m = one.measured
    rig = audit.rig.rig
    return {
        "at": rig.readings[m.reading].at,
        **_span(rig.tree.span(rig.readings[m.reading].route)),
        "quantity": m.quantity,
        "unit": _unit(m.quantity),
        "read": m.read,
        "computed": one.value,
        "tolerance": m.tolerance,
        "verdict": "not-solved" if one.value is None else "disagrees" if one.wrong else "agrees",
    }


def _unit(quantity: str) -> str:
    return "N*m" if quantity == "torque" else "rad/s"


def _explanation(audit: Audit, build: AsBuilt) -> dict[str, object]:
    pairs = zip(build.explanation.deviations, build.said, strict=True)
    return {
        "deviations": [_deviation(audit, deviation, said) for deviation, said in pairs],
        **({"common": [list(places) for places in build.explanation.common]} if build.explanation.common else {}),
        "misfit": round(build.explanation.misfit, 6),
        "edits": [_edit(edit) for edit in build.edits],
        "file_agrees": build.whole,
        "findings": [_finding(*pair) for pair in zip(build.findings, build.compared, strict=True)],
    }


def _deviation(audit: Audit, deviation: Deviation, said: Expressed) -> dict[str, object]:
    part = audit.rig.parts[deviation.part]
    valued = deviation.kind in ("lower-head", "torque-lost", "lower-torque", "lower-speed")
    return {
        "kind": deviation.kind,
        "part": part.name,
        "message": words(said.words),
        "by_hand": words(said.by_hand) or None,
        "ratio": deviation.ratio.text if deviation.ratio is not None else None,
        "shares": dict(zip(part.outlets, deviation.shares, strict=True)) if deviation.shares else None,
        "value": deviation.value if valued else None,
        "unit": ("m" if deviation.kind == "lower-head" else "1") if valued else None,
    }


def _edit(edit: Edit) -> dict[str, object]:
    return {"file": edit.file, **_span(edit.span), "text": edit.text}


def _finding(finding: JudgedFinding, compared: Comparison) -> dict[str, object]:
    return {
        "rule": finding.rule,
        "level": finding.level,
        "file": finding.file,
        **_span(finding.span),
        "part": finding.home[1],
        "message": words(finding.message),
        "values": {name: {"value": measure.value, "unit": measure.unit} for name, measure in finding.values},
        "waived": finding.waived is not None,
        "compared": compared,
    }


def _span(span: Span) -> dict[str, object]:
    return {
        "start": {"line": span.start.line, "column": span.start.column},
        "end": {"line": span.end.line, "column": span.end.column},
    }


def _further(audit: Audit) -> dict[str, object] | None:
    further = audit.further
    if further is None:
        return None
    return {
        "at": audit.outlet_name(further.part, further.outlet),
        "quantity": further.quantity,
        "unit": _unit(further.quantity),
        "groups": [
            {"low": group.low, "high": group.high, "explanations": [k + 1 for k in group.explanations]}
            for group in further.groups
        ],
    }
