"""The inlets of a combiner turn at different speeds.

What: a combiner adds the torque of lines that turn at one speed; here they do not (by more than 1 in 1,000,000).

Why: two lines locked together at different speeds fight each other until something slips or shears. There is no speed
at which the combiner could go on, so it and all below it are not solved.

How to repair: give the lines the same overall ratio, or put a stage of the ratio needed in one of them.

Source: common practice, no source (coupled shafts turn at one speed).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding a combiner whose running inlets disagree."""
    for number in rig.flows.mismatched:
        part = rig.parts[number]
        speeds = tuple(rig.flows.speed_out[source] for source, _ in part.inlets)
        running = [s for s in speeds if s > 0]
        ratio = max(running) / min(running)
        because = []
        for inlet, (source, _) in enumerate(part.inlets):
            because += [c for c in api.causes(rig, source) if c not in because]
            message = (
                "brings ",
                api.torque(rig.inlet_torque(number, inlet)),
                " at ",
                api.speed(speeds[inlet]),
                f" to inlet {inlet + 1}",
            )
            because.append(api.cause(rig, source, message))
        words = (
            "its inlets turn at different speeds, ",
            api.speed(max(running)),
            " and ",
            api.speed(min(running)),
            ", and lock each other",
        )
        values = (("speeds", api.Measure(speeds, "rad/s")), ("ratio_needed", api.times(ratio)))
        yield api.report(rig.place(number), part.name, words, values, because, _suggestion(running))


def _suggestion(running: Sequence[float]) -> api.Text:
    """One stage does where all lines but one turn alike; else each that is slower than the fastest takes its own."""
    fastest, slowest = max(running), min(running)
    slower = [speed for speed in running if not _alike(speed, fastest)]
    faster = [speed for speed in running if not _alike(speed, slowest)]
    if 1 in (len(slower), len(faster)):
        return ("a stage of ", api.times(fastest / slowest), " : 1 in one of the lines would make them agree")
    ratios: list[str | api.Measure] = []
    for speed in slower:
        ratios += [", " if ratios else "", api.times(fastest / speed), " : 1"]
    return ("one stage does not do: increasing ones of ", *ratios, " in the slower lines would make them agree")


def _alike(one: float, other: float) -> bool:
    return abs(one - other) <= api.SPEEDS_AGREE * max(one, other)


def repairs(_: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """Either line geared to the speed of the other."""
    yield api.SearchFor("agree-speeds", (finding.part or "",))


RULE = api.Rule("combiner-mismatch", "error", check, repairs, local=True)
