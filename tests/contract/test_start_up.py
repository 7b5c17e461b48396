"""What a clean check loads: it is most of what a short run costs, so that what only findings need is left out."""

import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

from lineshaft.testing import CATALOGUE

ROOT = Path(__file__).resolve().parents[2]
# By hand: 900 N·m through 5/2 : 1 reducing is 2,250 N·m, and larch stands 5,000 N·m; the press needs 300 N·m.
CLEAN = """rig: 1
catalogue: works.catalogue.yaml
parts:
  wheel: {item: wheel}
  step:  {item: stage, ratio: 5/2, grade: larch, set: reduce, driven-by: wheel}
  press: {item: press, driven-by: step}
commissioning:
  - set: {part: step, to: reduce}
  - start: wheel
"""
FOR_FINDINGS = {
    *("check.causes", "check.finding", "check.fingerprint", "check.judged_finding", "check.offer"),
    *("check.rule_words", "check.stamp", "repair", "write.sheet", "write.finding_words"),
}
FOR_FEW = {
    *("schema.model.component", "schema.model.placement", "schema.model.running", "schema.read.running_reader"),
    *("schema.text.fault", "schema.text.nearest", "schema.text.use", "schema.validation.misfit_words"),
    *("check.broken_rule", "commands.targets", "schema.text.undecodable"),
    *("check.waivers", "solve.components", "solve.excess", "solve.link", "solve.shared_outlet", "solve.shortage"),
    *("solve.lubricant_accounts", "solve.lubricant_loops", "solve.start_up_judge"),
}


def _loaded(rig: Path) -> tuple[int, set[str]]:
    """The exit code of a check of one rig, and the modules of ours that were loaded at its end."""
    ask = (
        "import sys; from lineshaft.cli import run; code = run(['check', '--no-cache', sys.argv[1]]);"
        "sys.stderr.write(' '.join([str(code), *sys.modules]))"
    )
    command = [sys.executable, "-P", "-c", ask, str(rig)]
    ran = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=120, check=True)
    code, *modules = ran.stderr.split()
    return int(code), {name.removeprefix("lineshaft.") for name in modules if name.startswith("lineshaft.")}


def test_a_clean_check_loads_nothing_that_only_findings_need(tmp_path: Path) -> None:
    """Rules say `api.report`, which is loaded where one of them has something to say."""
    (tmp_path / "works.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    rig = tmp_path / "clean.rig.yaml"
    rig.write_text(CLEAN, "utf-8")
    code, loaded = _loaded(rig)
    assert code == 0
    assert loaded & (FOR_FINDINGS | FOR_FEW) == set()
    assert len([name for name in loaded if name.startswith("rules.")]) == len([*(ROOT / "rules").glob("[a-z]*.py")])


def test_a_check_with_findings_loads_what_they_need() -> None:
    """The names above are those of modules that are there, and a finding wants them."""
    assert [name for name in FOR_FINDINGS | FOR_FEW if find_spec(f"lineshaft.{name}") is None] == []
    code, loaded = _loaded(ROOT / "sample_rigs" / "overloaded-step.rig.yaml")
    assert code == 1
    assert loaded >= FOR_FINDINGS
