"""All that a rule, a plugin, an editor or a page needs of lineshaft; our own rules import nothing else.

A rule is a function from a read-only `SolvedRig` to what `report` makes, in a `Rule`, registered by an entry point of
the group `lineshaft.rules`. What may be relied on is listed in `STABLE_SINCE` with the version that brought it: such a
name, its parameters and what it returns change only with the first number of the version. The rest of `__all__` serves
our own rules and may change with any version. All quantities are in SI units.

Importing this module loads nothing else: each name is loaded when it is first asked for. Our own rules say `api.report`
for that reason, and not `from lineshaft.api import report`, which asks at once; where few rules are, either will do.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from datetime import date
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from lineshaft.audit.comparison import Measured, computed, disagree, measured
    from lineshaft.bill_of_materials import bill
    from lineshaft.changes.editions import Rating, Value, changed_ratings, touching
    from lineshaft.check.causes import cause, causes, passing_causes
    from lineshaft.check.checker import Checker
    from lineshaft.check.finding import (
        Cause,
        Edit,
        Finding,
        Measure,
        Place,
        Reported,
        SharedCause,
        Text,
        Values,
        litres,
        power,
        report,
        seconds,
        speed,
        times,
        top_of,
        torque,
        value_of,
    )
    from lineshaft.check.judged_finding import JudgedFinding, RepairedFinding
    from lineshaft.check.level import Level
    from lineshaft.check.offer import Fix, NoFix, Offer, SearchFor, Strategy
    from lineshaft.check.open_file_repairs import repairs_of, safe_start_up, sizes_of, users_of, with_settings_mended
    from lineshaft.check.open_files import Judgement, OpenFiles
    from lineshaft.check.rule import Rule
    from lineshaft.check.rule_checks import faults_of, over_limit
    from lineshaft.check.rule_words import (
        breach_cause,
        breach_values,
        breach_words,
        grades_of,
        grades_that_stand,
        load_values,
        stage_of,
        step_place,
        step_words,
    )
    from lineshaft.check.waivers import JudgedWaiver, bound_value
    from lineshaft.schema.model.catalogue import Grade
    from lineshaft.schema.model.placement import Exit, Promise
    from lineshaft.schema.model.rig import Part, Step
    from lineshaft.schema.model.running import Circuit
    from lineshaft.schema.quantities.quantity import litres_text
    from lineshaft.schema.quantities.ratio import Ratio
    from lineshaft.schema.text.nearest import nearest
    from lineshaft.schema.text.span import Route
    from lineshaft.schema.text.use import Use
    from lineshaft.solve.application_factor import application_factors
    from lineshaft.solve.commissioning import commissioning_of
    from lineshaft.solve.excess import Excess
    from lineshaft.solve.limits import EQUAL, over, short, speed_carried, torque_carried
    from lineshaft.solve.lubricant_accounts import Account, accounts, circuit_of
    from lineshaft.solve.lubricant_loops import Loop, looped_stages, loops_of
    from lineshaft.solve.machine_output import shortages, time_of_unit
    from lineshaft.solve.places import Vector, are_neighbours, way_between
    from lineshaft.solve.shortage import Shortage
    from lineshaft.solve.solved_rig import SolvedRig
    from lineshaft.solve.start_up_judge import Difference, DryTurn, Overload, WrongTurn
    from lineshaft.solve.steady_state import SPEEDS_AGREE, outlet_torque
    from lineshaft.solve.surplus import wasteful
    from lineshaft.solve.work_rate import speed_for_time
else:
    _MODULES = {
        "lineshaft.audit.comparison": "Measured computed disagree measured",
        "lineshaft.bill_of_materials": "bill",
        "lineshaft.changes.editions": "Rating Value changed_ratings touching",
        "lineshaft.check.causes": "cause causes passing_causes",
        "lineshaft.check.finding": "Cause Edit Finding Measure Place Reported SharedCause Text "
        "Values litres power report seconds speed times top_of torque value_of",
        "lineshaft.check.judged_finding": "JudgedFinding RepairedFinding",
        "lineshaft.check.level": "Level",
        "lineshaft.check.offer": "Fix NoFix Offer SearchFor Strategy",
        "lineshaft.check.open_file_repairs": "repairs_of safe_start_up sizes_of users_of with_settings_mended",
        "lineshaft.check.open_files": "Judgement OpenFiles",
        "lineshaft.check.rule": "Rule",
        "lineshaft.check.rule_checks": "faults_of over_limit",
        "lineshaft.check.rule_words": "breach_cause breach_values breach_words grades_of "
        "grades_that_stand load_values stage_of step_place step_words",
        "lineshaft.check.waivers": "JudgedWaiver bound_value",
        "lineshaft.schema.model.catalogue": "Grade",
        "lineshaft.schema.model.placement": "Exit Promise",
        "lineshaft.schema.model.rig": "Part Step",
        "lineshaft.schema.model.running": "Circuit",
        "lineshaft.schema.quantities.quantity": "litres_text",
        "lineshaft.schema.quantities.ratio": "Ratio",
        "lineshaft.schema.text.nearest": "nearest",
        "lineshaft.schema.text.span": "Route",
        "lineshaft.schema.text.use": "Use",
        "lineshaft.solve.application_factor": "application_factors",
        "lineshaft.solve.commissioning": "commissioning_of",
        "lineshaft.solve.excess": "Excess",
        "lineshaft.solve.limits": "EQUAL over short speed_carried torque_carried",
        "lineshaft.solve.lubricant_accounts": "Account accounts circuit_of",
        "lineshaft.solve.lubricant_loops": "Loop looped_stages loops_of",
        "lineshaft.solve.machine_output": "shortages time_of_unit",
        "lineshaft.solve.places": "Vector are_neighbours way_between",
        "lineshaft.solve.shortage": "Shortage",
        "lineshaft.solve.solved_rig": "SolvedRig",
        "lineshaft.solve.start_up_judge": "Difference DryTurn Overload WrongTurn",
        "lineshaft.solve.steady_state": "SPEEDS_AGREE outlet_torque",
        "lineshaft.solve.surplus": "wasteful",
        "lineshaft.solve.work_rate": "speed_for_time",
    }
    _WHEN_ASKED: Final = {name: module for module, names in _MODULES.items() for name in names.split()}

    def __getattr__(name: str) -> object:
        """A name, with its module, when it is first asked for (PEP 562): a clean rig needs few of them."""
        if name not in _WHEN_ASKED:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        found = globals()[name] = getattr(import_module(_WHEN_ASKED[name]), name)
        return found


STABLE_SINCE: Final[Mapping[str, str]] = dict.fromkeys(
    (
        # what a rule is, and what it is shown
        *("Rule", "SolvedRig", "Part", "Ratio", "Grade"),
        # what it says
        *("report", "Reported", "SharedCause", "Finding", "Level", "Place", "Text", "Values", "Measure", "Cause"),
        *("top_of", "value_of", "torque", "speed", "power", "times", "seconds", "litres", "cause", "causes"),
        # what it compares by
        *("over", "short", "EQUAL", "torque_carried", "speed_carried"),
        # what it offers
        *("Fix", "Edit", "SearchFor", "Strategy", "NoFix", "Offer", "set_key"),
        # files and texts judged
        *("check_text", "check_path", "apply_edits", "JudgedFinding", "RepairedFinding"),
    ),
    "0.2",
)

# fmt: off
__all__ = [
    "EQUAL", "SPEEDS_AGREE", "STABLE_SINCE", "Account", "Cause", "Circuit", "Difference", "DryTurn", "Edit", "Excess",
    "Exit", "Finding", "Fix", "Grade", "JudgedFinding", "JudgedWaiver", "Judgement", "Level", "Loop", "Measure",
    "Measured", "NoFix", "Offer", "OpenFiles", "Overload", "Part", "Place", "Promise", "Rating", "Ratio",
    "RepairedFinding", "Reported", "Route", "Rule", "SearchFor", "SharedCause", "Shortage", "SolvedRig", "Step",
    "Strategy", "Text", "Use", "Value", "Values", "Vector", "WrongTurn", "accounts", "application_factors",
    "apply_edits", "are_neighbours", "bill", "bound_value", "breach_cause", "breach_values", "breach_words", "cause",
    "causes", "changed_ratings", "check_path", "check_text", "circuit_of", "commissioning_of", "computed", "disagree",
    "faults_of", "grades_of", "grades_that_stand", "litres", "litres_text", "load_values", "looped_stages", "loops_of",
    "measured", "nearest", "outlet_torque", "over", "over_limit", "passing_causes", "power", "repairs_of", "report",
    "safe_start_up", "seconds", "set_key", "short", "shortages", "sizes_of", "speed", "speed_carried", "speed_for_time",
    "stage_of", "step_place", "step_words", "time_of_unit", "times", "top_of", "torque", "torque_carried", "touching",
    "users_of", "value_of", "wasteful", "way_between", "with_settings_mended",
]
# fmt: on


def check_text(
    text: str,
    path: str | os.PathLike[str] = "given.rig.yaml",
    *,
    files: Mapping[str, str] | None = None,
    repairs: bool = False,
    day: date | None = None,
) -> tuple[RepairedFinding, ...]:
    """Judge a text as if it stood in the file ``path``, which need not be there: for editors and pages.

    ``files`` are other texts by their names beside it, a catalogue for instance; what they lack is read from the
    disk, and the policy above ``path`` holds. With ``repairs`` each finding brings those that were proved. Waivers
    count as of ``day``, by default today in UTC. Returns what was found, sorted by place, waived findings included.

    Raises ValueError where ``path`` is not named like a file that is judged (``*.rig.yaml`` and the like), and
    `lineshaft.exits.CannotDoError` where its policy or the installation cannot be used.
    """
    from lineshaft.schema.loading import kind_of

    where = _absolute(path)
    kind = kind_of(where)
    if kind is None:
        raise ValueError(f"{where.name!r} is not named like a file that is judged, *.rig.yaml for instance")
    texts = {where: text, **{_absolute(where.parent / name): other for name, other in (files or {}).items()}}
    checker = _checker({place: other.encode("utf-8", "surrogatepass") for place, other in texts.items()}, repairs, day)
    return checker.judged(checker.job(where, kind)).report.findings


def check_path(
    path: str | os.PathLike[str], *, repairs: bool = False, day: date | None = None
) -> tuple[RepairedFinding, ...]:
    """Judge a file, or all files below a folder that `lineshaft check` would judge, in this process and without cache.

    The parameters and errors are those of `check_text`; a path that is not there is a FileNotFoundError. A finding in a
    blueprint's file stands there once, however many rigs place it.
    """
    from lineshaft.check.shared_findings import each_once
    from lineshaft.run.discovery import find

    found = find([os.fspath(path)])
    if found.missing:
        raise FileNotFoundError(os.fspath(path))
    if found.foreign:
        raise ValueError(f"{os.fspath(path)!r} is not named like a file that is judged, *.rig.yaml for instance")
    checker = _checker({}, repairs, day)
    files = [(place, kind) for place, kind in found.files if not checker.resolved(place).excludes(place)]
    reports = tuple(checker.judged(checker.job(place, kind)).report for place, kind in files)
    return tuple(each_once(finding for each in reports for finding in each.findings))


def apply_edits(text: str, edits: Iterable[Edit]) -> str:
    """A file's text with the edits of a repair made, in the line ends that it has; every other character stays.

    The edits are those of one file, and their spans places in ``text``. Raises ValueError where two of them overlap.
    """
    from lineshaft.repair.edits.splice import spliced, splices_of
    from lineshaft.schema.text.text import SourceText

    source = SourceText(Path("text"), "text", text)
    return spliced(text, splices_of(source, edits))


def set_key(part: Part, key: str, text: str) -> Edit:
    """The edit that gives a part's setting another value, in the file's own layout; the key is added where it lacks."""
    from lineshaft.repair.edits.parts import set_key as edit_of

    return edit_of(part, key, text)


def _absolute(path: str | os.PathLike[str]) -> Path:
    return Path(os.path.normpath(Path.cwd().resolve() / path))


def _checker(texts: Mapping[Path, bytes], repairs: bool, day: date | None) -> Checker:
    from lineshaft.check.checker import Checker, today
    from lineshaft.check.rulebook import open_rulebook

    working = Path.cwd().resolve()
    return Checker(working, open_rulebook(), day=day or today(), repairs=repairs, texts=texts)
