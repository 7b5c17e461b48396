"""Dossiers made by hand for the report: every text in them is the given one."""

from lineshaft.check.finding import torque
from lineshaft.check.judged_finding import Repair
from lineshaft.report_model.record import (
    BillRow,
    Checklist,
    CheckStep,
    Crossing,
    ItemRow,
    Line,
    LinePoint,
    LubricantRow,
    MachineCurve,
    MachineRow,
    PicturedRepair,
    RateCurve,
    ReportModel,
    Setting,
    ShareCurve,
    Sweep,
)
from lineshaft.report_model.schematic_record import DrawnCircuit, Fact, Frame, Link, Node, Schematic


def report_model_of(text: str, *, repairs: bool = False) -> ReportModel:
    """Two parts in line in a frame, a step, a circuit, a good, a machine and a sweep; a repair if wanted."""
    facts = (Fact("needs", ("needs ", torque(150.0))), Fact("read", (text,)), Fact("lubricant", (text,)))
    node = Node(text, text, text, "shaft", (text,), 1.25, "torque", True, True, text, load=(torque(9.0), torque(7.0)))
    node = node._replace(facts=facts, alike=3, stands_for=(text, text), news=text)
    nodes = (node, node._replace(figure="driven-machine", share=0.5, over=False))
    circuit = DrawnCircuit(text, text, 40.0, 7.0, text, (text, text), 0.001, 0.002, 8000.0)
    links, frames = (Link(0, 1, text, 90.0, 4.0, True),), (Frame(text, text, (0, 1)),)
    plan = Schematic(text, text, nodes, links, text, (text,), frames, (circuit,))
    repair = Repair(text, "setting", 0.0, ((text, 1),), (), (), 1)
    pictured = PicturedRepair(1, repair, ("f1",), (f"-{text}", f"+{text}"), plan, plan, ())
    step = CheckStep(1, (text,), (1.0, 2.0, 3.0), (text,), (), 1, text, 1.25, True, ((text, 1.25),), text)
    gets = (90.0, 7.0, 630.0)
    return ReportModel(
        plan,
        (Line(text, (LinePoint(text, 1.25, None), LinePoint(text, 0.5, 0.25))),),
        Checklist((step,), False),
        (LubricantRow(text, True, text, 8.0, 0.001, 0.002, -0.001, 8000.0),),
        (BillRow(text, 3, None, 6.0), BillRow(text, 2, 1, None)),
        6.0,
        (MachineCurve((text,), text, text, ((1.0, 40.0), (6.0, 180.0)), 3.0, 96.0),),
        (
            Sweep(
                Setting(text, text, "m"),
                2.0,
                (2.0, 4.0),
                (ShareCurve(text, "torque", (0.5, 1.25)),),
                (RateCurve(text, text, (40.0, None), (True, False)),),
                (Crossing(text, "torque", 3.0, 3.001),),
            ),
        ),
        0,
        True,
        (MachineRow(text, text, True, gets, (60.0, None, 1.0), 1.5, 0.25, 90.0, text, 60.0),),
        (ItemRow(text, text, text, 3, 0.75, text),),
        (pictured,) if repairs else (),
    )
