"""Edition drift with the earlier catalogue at hand: the ratings that changed, as the two files print them."""

import shutil
from pathlib import Path

from lineshaft.api import Fix, NoFix
from lineshaft.check.checker import Checker
from lineshaft.check.finding import Measure
from lineshaft.check.rulebook import open_rulebook
from lineshaft.rules.edition_drift import RULE
from lineshaft.testing import findings_of, rig_from_text

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


GRADES = """\
grades:
  elm: {torque-limit: %d N*m, speed-limit: %d rad/s}
  oak: {torque-limit: %d N*m, speed-limit: %d rad/s}
  ash: {torque-limit: %d N*m, speed-limit: %d rad/s}
  fir: {torque-limit: %d N*m, speed-limit: %d rad/s}
  yew: {torque-limit: %d N*m, speed-limit: %d rad/s}
"""
NOW, THEN = 'catalogue: 1\nedition: "3"\nearlier: {"2": then.catalogue.yaml}\n', 'catalogue: 1\nedition: "2"\n'
ITEMS = """\
items:
  wheel: {kind: prime-mover, output: {torque: 90 N*m, speed: 8 rad/s}}
  rod: {kind: shaft, grades: [elm, oak, ash, fir, yew]}
  mill: {kind: driven-machine}
"""


def test_eight_changed_ratings_are_spelt_out_and_the_rest_is_counted() -> None:
    """Five grades with two limits each, all ten other than they were: 10 - 8 = 2 more; with four grades none."""
    for used, more in (("elm oak ash fir yew", 2), ("elm oak ash fir", 0)):
        rods = used.split()
        parts = "".join(
            f"  {grade}: {{item: rod, grade: {grade}, driven-by: {above}}}\n"
            for grade, above in zip(rods, ["w", *rods], strict=False)
        )
        text = f'rig: 1\ncatalogue: now.catalogue.yaml\nedition: "2"\nparts:\n  w: {{item: wheel}}\n{parts}'
        files = {
            "now.catalogue.yaml": NOW + GRADES % tuple(range(901, 911)) + ITEMS,
            "then.catalogue.yaml": THEN + GRADES % tuple(range(701, 711)) + ITEMS,
        }
        (finding,) = findings_of(RULE, f"{text}  m: {{item: mill, driven-by: {rods[-1]}}}\n", files=files)
        words = "".join(piece for piece in finding.message if isinstance(piece, str))
        assert words.count(" was ") - words.count(" was worked out ") == 8
        assert (f"; and {more} more" in words) is (more > 0)
        assert len(finding.values) == 8 + more
        assert "only in one of them" not in words


def test_an_efficiency_and_a_field_behind_the_goods_in_the_alphabet_are_ratings_and_goods_are_none() -> None:
    """A rod of 0.9 is one of 0.95 and turns at up to 30 instead of 20 rad/s; 7 bars and not 5 are no rating."""
    rod = "  rod: {kind: shaft, efficiency: %s, speed-limit: %d rad/s, made-of: {bar: %d}}\n"
    text = 'rig: 1\ncatalogue: now.catalogue.yaml\nedition: "2"\nparts:\n  w: {item: wheel}\n'
    text += "  r: {item: rod, driven-by: w}\n  m: {item: mill, driven-by: r}\n"
    items = "raw: {bar: {worth: 0.7}}\n" + ITEMS.replace(
        "  rod: {kind: shaft, grades: [elm, oak, ash, fir, yew]}\n", "%s"
    )
    files = {
        "now.catalogue.yaml": NOW + items % (rod % ("0.95", 30, 7)),
        "then.catalogue.yaml": THEN + items % (rod % ("0.9", 20, 5)),
    }
    (finding,) = findings_of(RULE, text, files=files)
    assert {name: measure.value for name, measure in finding.values} == {
        "rod efficiency": 0.95,
        "rod speed-limit": 30.0,
    }


def test_the_edition_of_a_rig_can_be_written_and_that_of_a_policy_is_for_the_site() -> None:
    """The rig is of edition 2 and the policy for edition 1, where the catalogue is of edition 3."""
    text = 'rig: 1\ncatalogue: now.catalogue.yaml\nedition: "2"\nparts:\n  w: {item: wheel}\n'
    grades = GRADES % tuple(range(701, 711))
    files = {"now.catalogue.yaml": NOW + grades + ITEMS, "then.catalogue.yaml": THEN + grades + ITEMS}
    given = {"files": files, "policy": 'policy: 1\nedition: "1"\n'}
    rig = rig_from_text(f"{text}  m: {{item: mill, driven-by: w}}\n", **given)  # type: ignore[arg-type]
    own, site = findings_of(RULE, f"{text}  m: {{item: mill, driven-by: w}}\n", **given)  # type: ignore[arg-type]
    assert (own.route, site.route) == (("edition",), ("catalogue",))
    assert RULE.repairs is not None
    (fix,), (none,) = (list(RULE.repairs(rig, finding)) for finding in (own, site))
    assert isinstance(fix, Fix) and isinstance(none, NoFix)
    assert [(edit.span.start.line, edit.text) for edit in fix.edits] == [(3, '"3"')]
