"""Rigs from text or from the maker, solved, and explanations in a form that can be compared."""

import tempfile
from pathlib import Path

from rig_maker.as_built import AsBuilt, Seeded

from lineshaft.audit.comparison import computed, measured
from lineshaft.audit.deviations import Deviation, as_it_stands
from lineshaft.audit.diagnosis import Explanation, diagnose
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded
from lineshaft.solve.steady_state import declared, solve

Key = tuple[str, str, object]
"""Kind, part, and what tells two of a kind apart: a ratio, shares of 1, or nothing."""


def solved(text: str, catalogue: str, name: str = "made.catalogue.yaml") -> SolvedRig:
    """A rig's text against a catalogue's; there are no faults in either."""
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder).resolve()
        (root / "made.rig.yaml").write_text(text, encoding="utf-8")
        (root / name).write_text(catalogue, encoding="utf-8")
        loaded = Loader(Repository(root, root)).rig(root / "made.rig.yaml")
        assert loaded.faults == (), loaded.faults
        return solve_loaded(loaded)


def solved_as_built(made: AsBuilt) -> SolvedRig:
    """A rig of the maker with its readings."""
    return solved(made.text, made.catalogue_text, made.catalogue)


def key(rig: SolvedRig, deviation: Deviation) -> Key:
    """A deviation by its part's name; numbers that were fitted left out."""
    detail: object = None
    if deviation.ratio is not None:
        detail = deviation.ratio.value
    elif deviation.kind == "other-shares":
        detail = tuple(round(share / sum(deviation.shares), 9) for share in deviation.shares)
    return deviation.kind, rig.parts[deviation.part].name, detail


def keys(rig: SolvedRig, explanation: Explanation) -> frozenset[Key]:
    """An explanation's deviations."""
    return frozenset(key(rig, deviation) for deviation in explanation.deviations)


def is_misread(explanation: Explanation) -> bool:
    """Whether it says that a reading is wrong, and nothing of the build."""
    return [one.kind for one in explanation.deviations] == ["wrong-reading"]


def seeded_key(one: Seeded) -> Key:
    """The same of a deviation that was put in."""
    detail: object = one.ratio
    if one.kind == "other-shares":
        detail = tuple(round(share, 9) for share in one.shares)
    return one.kind, one.part, detail


def _predicted(rig: SolvedRig, explanation: Explanation) -> list[float]:
    train = as_it_stands(rig.train, explanation.deviations)
    flows = solve(train, declared(train))
    found = []
    for m in measured(rig.rig.readings):
        value = computed(train.parts, flows, m.part, m.outlet, m.quantity)
        assert value is not None
        found.append(value)
    return found


def verdict(made: AsBuilt) -> str:
    """Where the audit has the deviations that were put in.

    `first`, `tied` with the first by all that was read, `told apart` but listed, `smaller` sets explain, or `missed`.
    Two explanations are tied when each number they predict is the same within half a reading's tolerance.
    """
    rig = solved_as_built(made)
    diagnosis = diagnose(rig)
    wanted = frozenset(seeded_key(one) for one in made.seeded)
    at = next((k for k, e in enumerate(diagnosis.explanations) if keys(rig, e) == wanted), None)
    if at is None:
        smaller = diagnosis.explanations and len(diagnosis.explanations[0].deviations) < len(wanted)
        return "smaller" if smaller else "missed"
    if at == 0:
        return "first"
    first, own = (_predicted(rig, diagnosis.explanations[k]) for k in (0, at))
    alike = all(abs(a - b) <= 0.01 * max(a, b) for a, b in zip(first, own, strict=True))
    return "tied" if alike else "told apart"
