"""For the tests of whoever writes rules: a rig from a text, and what one rule finds in it.

What may be relied on is listed in `STABLE_SINCE`, as in `lineshaft.api`.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Final

from lineshaft.api import Finding, Rule, SolvedRig
from lineshaft.check.stamp import stamped
from lineshaft.schema.loading import Loader
from lineshaft.schema.model.policy import HOUSE_DEFAULTS
from lineshaft.schema.read.policy_reader import read_policy
from lineshaft.schema.text.repository import Repository
from lineshaft.solve.solved_rig import solve_loaded

__all__ = ["CATALOGUE", "STABLE_SINCE", "findings_of", "rig_from_text"]

STABLE_SINCE: Final[Mapping[str, str]] = dict.fromkeys(("CATALOGUE", "findings_of", "rig_from_text"), "0.2")

CATALOGUE: Final = """catalogue: 1
edition: "1"
grades:
  pine:  {torque-limit: 1500 N*m, speed-limit: 60 rad/s}
  larch: {torque-limit: 5 kN*m, speed-limit: 90 rad/s}
items:
  wheel:   {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  turbine: {kind: prime-mover, output: {torque: 300 N*m, speed: 30 rad/s}}
  shaft:   {kind: shaft, grades: [pine, larch]}
  clutch:  {kind: clutch, grades: [pine, larch]}
  stage:   {kind: gear-stage, ratios: [5/2, 3, 7], grades: [pine, larch]}
  fork:    {kind: splitter, shares: [[1, 1], [2, 3], [3, 5]], grades: [pine, larch]}
  joiner:  {kind: combiner, inlets: 2, grades: [pine, larch]}
  saw:     {kind: driven-machine, needs: {torque: 150 N*m, speed: 10 rad/s}}
  press:   {kind: driven-machine, needs: {torque: 300 N*m}}
"""
"""The catalogue that a text may name as ``works.catalogue.yaml`` without bringing it."""

_FOLDER = Path(Path.cwd().anchor, "lineshaft.testing")  # is never looked into where a text names only what it brings


def rig_from_text(text: str, *, files: Mapping[str, str] | None = None, policy: str | None = None) -> SolvedRig:
    """The solved rig of a text, as rules see it; nothing is read from the disk.

    ``files`` are the texts that it names, by their names; ``works.catalogue.yaml`` is `CATALOGUE` unless it is among
    them. ``policy`` is the text of a policy file. A text with faults gives a rig without parts, with its ``faults``.
    Raises ValueError where the policy has a fault.
    """
    texts = {"given.rig.yaml": text, "works.catalogue.yaml": CATALOGUE, **(files or {})}
    if policy is not None:
        texts["lineshaft.policy.yaml"] = policy
    overlay = {_FOLDER / name: content.encode("utf-8", "surrogatepass") for name, content in texts.items()}
    loader = Loader(Repository(_FOLDER, _FOLDER).with_texts(overlay))
    chosen = HOUSE_DEFAULTS
    if policy is not None:
        tree = loader.tree(_FOLDER / "lineshaft.policy.yaml", "policy")
        chosen, faults = (HOUSE_DEFAULTS, tree) if isinstance(tree, tuple) else read_policy(tree)
        if faults:
            raise ValueError(f"line {faults[0].span.start.line} of the policy: {faults[0].message}")
    return solve_loaded(loader.rig(_FOLDER / "given.rig.yaml"), chosen)


def findings_of(
    rule: Rule, text: str, *, files: Mapping[str, str] | None = None, policy: str | None = None
) -> tuple[Finding, ...]:
    """What one rule finds in the rig of a text, in the rule's own order; the parameters are those of `rig_from_text`.

    Unlike in a check, what the rule raises is raised, and so is TypeError where it gives what `report` did not make.
    """
    rig = rig_from_text(text, files=files, policy=policy)
    return tuple(stamped(said, rule) for said in rule.check(rig))
