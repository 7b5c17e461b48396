"""What an explanation makes of the file and of the build: edits, what is left to do by hand, and findings. By hand."""

from pathlib import Path

import pytest
from repair_bench import workshop_of

from lineshaft.audit.as_built import AsBuilt, as_built
from lineshaft.audit.diagnosis import diagnose

CATALOGUE = """\
catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  stage: {kind: gear-stage, ratios: [3, 7]}
  rod: {kind: shaft, torque-limit: 2500 N*m, speed-limit: 20 rad/s}
  mill: {kind: driven-machine}
"""
RIG = """\
rig: 1
catalogue: bench.catalogue.yaml
parts:
  w: {item: wheel}
  s: {item: stage, ratio: 3, set: reduce, driven-by: w}
  r: {item: rod, driven-by: s}
  m: {item: mill, driven-by: r}
commissioning:
  - set: {part: s, to: reduce}
  - start: w
readings:
"""
# As written 2,700 N·m at 8/3 rad/s go through the rod, which stands 2,500: a finding that is known.


def _built(folder: Path, readings: str, kinds: list[str]) -> AsBuilt:
    """The build by the first explanation of these kinds of deviations."""
    context = workshop_of(folder, CATALOGUE, RIG + readings)
    diagnosis = diagnose(context.rig)
    found = next(e for e in diagnosis.explanations if sorted(d.kind for d in e.deviations) == kinds)
    return as_built(context, diagnosis, found)


@pytest.mark.parametrize(
    ("torque", "speed", "kinds", "setting", "by_hand", "findings"),
    [
        # Turned, 300 N·m at 24 rad/s: too fast for the rod, which is new.
        (300, "24", ["other-way"], "set: increase", 0, [("speed-over-limit", "new")]),
        # 7 : 1 make 6,300 N·m at 8/7 rad/s: more too much than before.
        (6300, "1.143", ["other-ratio"], "ratio: 7", 0, [("torque-over-limit", "worse")]),
        # 2,565 N·m are still too much, but less so: known; the teeth are nothing that the file says.
        (2565, "2.667", ["torque-lost"], None, 1, [("torque-over-limit", "known")]),
        # 1,890 N·m are not too much.
        (1890, "2.667", ["torque-lost"], None, 1, []),
        # Turned and worn, 210 N·m at 24 rad/s: the file says one of the two.
        (210, "24", ["other-way", "torque-lost"], "set: increase", 1, [("speed-over-limit", "new")]),
    ],
)
def test_a_build_in_the_file_and_beside_it(
    tmp_path: Path,
    torque: int,
    speed: str,
    kinds: list[str],
    setting: str | None,
    by_hand: int,
    findings: list[tuple[str, str]],
) -> None:
    """What can be written is, and whole is what then agrees; the rest is told; findings are those of the build."""
    reading = f"  - {{at: m, torque: {torque} N*m, speed: {speed} rad/s, tolerance: 1 %}}\n"
    built = _built(tmp_path, reading, kinds)
    assert [(f.rule, c) for f, c in zip(built.findings, built.compared, strict=True) if f.part == "r"] == findings
    assert len(built.by_hand) == by_hand
    if setting is None:
        assert (built.text, built.edits) == (None, ())
    else:
        assert built.text is not None and setting in built.text and len(built.edits) == 1
    assert built.whole is (setting is not None and by_hand == 0)


def test_a_build_whose_reading_is_wrong_is_the_file_s(tmp_path: Path) -> None:
    """The speed agrees and the torque of the wheel does not: nothing is written, and no reading is a finding of it."""
    readings = "  - {at: m, speed: 2.667 rad/s}\n  - {at: w, torque: 333 N*m}\n"
    built = _built(tmp_path, readings, ["wrong-reading"])
    assert (built.text, built.edits, built.whole, len(built.by_hand)) == (None, (), False, 1)
    assert [one.words[0] for one in built.said] == ["the reading at w is wrong: all else on its line agrees"]
    said = [(f.rule, c) for f, c in zip(built.findings, built.compared, strict=True)]
    assert said == [("torque-over-limit", "known")]


def test_an_edit_that_would_not_agree_is_not_given_out(tmp_path: Path) -> None:
    """An explanation of another build: turned, the file would give 300 N·m at 24 rad/s and not what was read."""
    turned = "  - {at: m, torque: 300 N*m, speed: 24 rad/s}\n"
    context = workshop_of(tmp_path, CATALOGUE, RIG + turned)
    explanation = next(e for e in diagnose(context.rig).explanations if [d.kind for d in e.deviations] == ["other-way"])
    other = workshop_of(tmp_path, CATALOGUE, RIG + "  - {at: m, torque: 1890 N*m, speed: 2.667 rad/s}\n")
    built = as_built(other, diagnose(other.rig), explanation)
    assert (built.text, built.edits, built.whole) == (None, (), False)
