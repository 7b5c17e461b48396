"""Dossiers made by hand for the report: every text in them is the given one."""

from lineshaft.report_model.record import (
    BillRow,
    Checklist,
    CheckStep,
    Crossing,
    Line,
    LinePoint,
    LubricantRow,
    MachineCurve,
    RateCurve,
    ReportModel,
    Setting,
    ShareCurve,
    Sweep,
)
from lineshaft.report_model.schematic_record import Link, Node, Schematic


def report_model_of(text: str) -> ReportModel:
    """Two parts in line, a step, a circuit, a good, a machine and a sweep."""
    node = Node(text, text, text, "shaft", (text,), 1.25, "torque", True, True)
    nodes = (node, node._replace(figure="driven-machine", share=0.5, over=False))
    return ReportModel(
        Schematic(text, text, nodes, (Link(0, 1, text, 90.0, 4.0, True),)),
        (Line(text, (LinePoint(text, 1.25, None), LinePoint(text, 0.5, 0.25))),),
        Checklist((CheckStep(1, (text,), (1.0, 2.0, 3.0), (text,), (), 1, text, 1.25, True),), False),
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
    )
