"""Edition drift with the earlier catalogue at hand: the ratings that changed, as the two files print them."""

import shutil
from pathlib import Path

from lineshaft.check.checker import Checker
from lineshaft.check.finding import Measure
from lineshaft.check.rulebook import open_rulebook

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"


def test_the_changed_ratings_that_touch_the_rig_are_named(tmp_path: Path) -> None:
    """Cast iron went from 1,000 N·m and 220 rad/s to 1,200 and 250; elm, which the rig does not use, is not named."""
    shutil.copytree(SAMPLES / "catalogues", tmp_path / "catalogues")
    text = (SAMPLES / "overloaded-step.rig.yaml").read_text("utf-8").replace('edition: "3.1"', 'edition: "3.0"')
    rig = tmp_path / "old.rig.yaml"
    rig.write_text(text, "utf-8")
    found = [f for f in Checker(tmp_path, open_rulebook()).report(rig, "rig").findings if f.rule == "edition-drift"]
    (finding,) = found
    values = dict(finding.values)
    assert values["cast-iron torque-limit"] == Measure(1200.0, "N*m")
    assert values["cast-iron speed-limit"] == Measure(250.0, "rad/s")
    assert not any(name.startswith("elm") for name in values)
    assert Measure(1000.0, "N*m") in finding.message
