"""The inlets of a combiner turn at different speeds.

What: a combiner adds the torque of lines that turn at one speed; here they do not (by more than 1 in 1,000,000).

Why: two lines locked together at different speeds fight each other until something slips or shears. There is no speed
at which the combiner could go on, so it and all below it are not solved.

How to repair: give the lines the same overall ratio, or put a stage of the ratio needed in one of them.

Source: common practice, no source (coupled shafts turn at one speed).
"""

from collections.abc import Iterator

from lineshaft.api import (
    Finding,
    Measure,
    Offer,
    Reported,
    Rule,
    SearchFor,
    SolvedRig,
    cause,
    causes,
    report,
    speed,
    times,
    torque,
)


def check(rig: SolvedRig) -> Iterator[Reported]:
    """One finding a combiner whose running inlets disagree."""
    for number in rig.flows.mismatched:
        part = rig.parts[number]
        speeds = tuple(rig.flows.speed_out[source] for source, _ in part.inlets)
        running = [s for s in speeds if s > 0]
        ratio = max(running) / min(running)
        because = []
        for inlet, (source, _) in enumerate(part.inlets):
            because += [c for c in causes(rig, source) if c not in because]
            message = (
                "brings ",
                torque(rig.inlet_torque(number, inlet)),
                " at ",
                speed(speeds[inlet]),
                f" to inlet {inlet + 1}",
            )
            because.append(cause(rig, source, message))
        words = (
            "its inlets turn at different speeds, ",
            speed(max(running)),
            " and ",
            speed(min(running)),
            ", and lock each other",
        )
        values = (("speeds", Measure(speeds, "rad/s")), ("ratio_needed", times(ratio)))
        suggestion = ("a stage of ", times(ratio), " : 1 in one of the lines would make them agree")
        yield report(
            rig.place(number), part.name, words, values, because, suggestion
        )


def repairs(_: SolvedRig, finding: Finding) -> Iterator[Offer]:
    """Either line geared to the speed of the other."""
    yield SearchFor("agree-speeds", (finding.part or "",))


RULE = Rule("combiner-mismatch", "error", check, repairs, local=True)
