"""What the campaign starts from: folders of files that belong together, the sound and the broken alike."""

from functools import cache
from pathlib import Path
from random import Random

from rig_maker import make_rig

_ROOT = Path(__file__).resolve().parents[2]
_SAMPLES, _TWINS = _ROOT / "sample_rigs", _ROOT / "tests" / "rules"
_GOOD = _ROOT / "tests" / "schema" / "corpus" / "good"

_POLICY = """\
policy: 1
margins: {torque: 1.1, speed: 1.0, application-factors: iso-6336}
levels:  {machine-surplus: off, loose-end: error}
budget:  {parts: 60, worth: 400}
grades:  {forbidden: [elm]}
run-dry-after: 1 h
exclude: ["attic/**"]
"""


def works(rng: Random) -> dict[str, str]:
    """Path to text, the rig first, of one works: from the samples, the rules' twins, or made to order."""
    kind = rng.random()
    if kind < 0.4:
        found = _folder(_SAMPLES, rng, "*.rig.yaml")
    elif kind < 0.7:
        found = _folder(_TWINS, rng, "*/*.rig.yaml")
    elif kind < 0.75:
        found = _folder(_GOOD, rng, "*.rig.yaml")
    else:
        made = make_rig(rng.randrange(300), rng.randint(5, 24))
        found = {"made.rig.yaml": made.text, made.catalogue: made.catalogue_text}
    if rng.random() < 0.3:
        found.setdefault("lineshaft.policy.yaml", _POLICY)
    return found


def _folder(folder: Path, rng: Random, pattern: str) -> dict[str, str]:
    """One rig of a folder with the catalogues, blueprints, policies and snag lists that stand there."""
    rig = rng.choice(_rigs(folder, pattern))
    beside = [path for path in _others(folder) if path.parent != rig.parent or not path.name.endswith(".rig.yaml")]
    near = [path for path in beside if path.parent in (rig.parent, folder) or path.parent.parent == folder != _TWINS]
    return {path.relative_to(folder).as_posix(): path.read_text("utf-8") for path in [rig, *near]}


@cache
def _rigs(folder: Path, pattern: str) -> tuple[Path, ...]:
    return tuple(sorted(folder.glob(pattern)))


@cache
def _others(folder: Path) -> tuple[Path, ...]:
    kinds = (".catalogue.yaml", ".blueprint.yaml", ".policy.yaml", ".snags.yaml")
    return tuple(sorted(path for path in folder.rglob("*.yaml") if path.name.endswith(kinds)))
