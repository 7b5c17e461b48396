"""What stands at the card at fault: the decisive pair by hand, what breaks, the path; each rule by its twins."""

import json
from pathlib import Path

import pytest

from lineshaft.check.finding import Cause, Measure, speed, times, torque
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.rulebook import open_rulebook
from lineshaft.commands.one_rig import checker
from lineshaft.report_model.schematic import schematic
from lineshaft.report_model.schematic_record import Link, Node, Schematic
from lineshaft.schema.text.span import TOP
from lineshaft.write.drawing.marks import decisive, marked

RULES = Path(__file__).resolve().parents[2] / "rules"
UNREAD = {"not-yaml", "not-schema", "bad-quantity"}  # nothing is solved, so there is nothing to draw
OF_THE_FILE = {"budget-exceeded", "edition-drift", "commissioning-incomplete"}  # they stand at no part


def finding(part: str, *values: tuple[str, Measure], because: tuple[Cause, ...] = ()) -> JudgedFinding:
    """An error at a part."""
    return JudgedFinding("some-rule", "error", "a.rig.yaml", TOP, (), part, ("is wrong: at length",), values, because)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ((("torque", torque(144.0)), ("torque_needed", torque(150.0))), "144 of 150 N·m needed"),
        ((("speeds", Measure((16.0, 8.0), "rad/s")),), "16 rad/s ≠ 8 rad/s"),
        ((("limit", torque(1200.0)), ("times_limit", times(2.25))), "2.7 of 1.2 kN·m"),
        ((("limit", torque(1200.0)), ("times_limit", times(1.5))), "1.8 of 1.2 kN·m"),
        ((("limit", torque(950.0)), ("times_limit", times(3.0))), "2.85 kN·m of 950 N·m"),
        ((("torque", torque(1.0)), ("torque_up_to", torque(3.0)), ("speed", speed(9.0)), ("speed_up_to", speed(7.0))),
         "9 of 7 rad/s promised"),
        ((("torque_read", torque(604.0)), ("torque", torque(800.0))), "read 604 ≠ 800 N·m"),
        ((("time", Measure(45.0, "s")), ("time_wanted", Measure(30.0, "s"))), "45, wanted 30 s"),
        ((), "is wrong"),
    ],
)  # fmt: skip
def test_the_decisive_pair(values: tuple[tuple[str, Measure], ...], said: str) -> None:
    """What is against what should be, by hand; without a pair the message up to its colon."""
    assert decisive(finding("a", *values), "si").replace("\u00a0", " ") == said


def test_the_path_leads_from_the_source_to_the_break() -> None:
    """Of two branches only the one in which the part breaks is on the path; the fault above it is marked too."""
    node = Node("", None, "item", "shaft", (), None, None, True, False)
    names = ("wheel", "divide", "step", "lay", "pump")
    links = tuple(Link(s, t, None, 90.0, 7.0, True) for s, t in ((0, 1), (1, 2), (2, 3), (1, 4)))
    plan = Schematic("a", "a", tuple(node._replace(name=name) for name in names), links)
    chain = tuple(Cause("a", TOP, name, ("",)) for name in ("wheel", "step", "lay"))
    marks = marked(plan, [finding("step", ("limit", torque(90.0)), ("times_limit", times(3.0)), because=chain)])
    assert marks.path == {0, 1, 2}
    assert {part: [(one.tag, one.here) for one in found] for part, found in marks.at.items()} == {
        2: [("E1", False)],
        3: [("E1", True)],
    }


@pytest.mark.parametrize("rule", sorted(path.name for path in RULES.iterdir() if path.is_dir()))
def test_every_rules_finding_is_at_its_card(rule: str) -> None:
    """`breaks` has a mark of the rule at the part that `expected.json` names, `holds` none of that rule."""
    folder = RULES / rule
    if rule in UNREAD or not (folder / "breaks.rig.yaml").exists():
        return
    for name, breaks in (("breaks", True), ("holds", False)):
        path = folder / f"{name}.rig.yaml"
        judging = checker(open_rulebook())
        found = judging.report(path, "rig").findings
        plan = schematic(judging.solved(path))
        marks = marked(plan, found)
        numbers = {number for number, one in enumerate(found, 1) if one.rule == rule}
        parts = {plan.nodes[part].name for part, at in marks.at.items() for one in at if one.number in numbers}
        if not breaks:
            assert parts == set()
        elif rule not in OF_THE_FILE and plan.nodes:
            wanted = {one["part"] for one in expected(folder) if one["rule"] == rule and one.get("part")}
            there = {name for name in wanted if any(node.name.startswith(name) for node in plan.nodes)}
            assert {name for name in there if any(part.startswith(name) for part in parts)} == there
            assert parts or marks.circuits


def expected(folder: Path) -> list[dict[str, str]]:
    """The findings that the twins' file lists by hand."""
    data = json.loads((folder / "expected.json").read_text("utf-8"))
    return list(data["breaks"] if isinstance(data, dict) else data)
