"""States that rigs seldom come to: rings with ways across, stages that only the declared rig turns, what locks."""

from random import Random

import networkx as nx
import pytest
from solve.test_drivetrain import _train
from solve.test_laws_by_hand import solved

from lineshaft.check.causes import causes
from lineshaft.schema.model.catalogue import Output
from lineshaft.solve import solved_rig
from lineshaft.solve.commissioning import commissioning_of
from lineshaft.solve.lubricant_accounts import accounts
from lineshaft.solve.promise_edge import _slowed
from lineshaft.solve.safe_list import Impassable, safe_list, with_steps
from lineshaft.solve.solved_rig import OutOfBalanceError, SolvedRig
from lineshaft.solve.steady_state import solve
from lineshaft.solve.step_states import step_states
from lineshaft.testing import rig_from_text

CATALOGUE = """\
catalogue: 1
edition: "1"
lubricants: [flax-oil, lamp-oil]
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  rod: {kind: shaft}
  stage: {kind: gear-stage, ratios: [5/2, 3, 7]}
  oiled: {kind: gear-stage, ratios: [3], lubricant: {kind: flax-oil, holds: 4.5 L, uses: 0.3 mL/s}}
  clutch: {kind: clutch}
  fork: {kind: splitter, shares: any}
  joiner: {kind: combiner, inlets: 2}
  mill: {kind: driven-machine}
  edge: {kind: shaft, torque-limit: 900 N*m, speed-limit: 8 rad/s}
  press: {kind: driven-machine, work: {unit: go, times: [[5 rad/s, 40 s], [30 rad/s, 15 s]], between: linear}, makes: {lubricant: flax-oil, amount: 30 mL}}
"""  # noqa: E501
LOCKED = """\
  w: {item: wheel}
  f: {item: fork, driven-by: w, shares: {a: 2, b: 3}}
  s: {item: stage, ratio: 3, set: increase, driven-by: f.a}
  j: {item: joiner, driven-by: [s, f.b]}
  r: {item: rod, driven-by: j}
  m: {item: mill, driven-by: r}
"""


def _rig(parts: str, more: str = "") -> SolvedRig:
    text = f"rig: 1\ncatalogue: works.catalogue.yaml\nparts:\n{parts}{more}"
    rig = rig_from_text(text, files={"works.catalogue.yaml": CATALOGUE})
    assert rig.faults == (), [fault.message for fault in rig.faults]
    return rig


@pytest.mark.parametrize("seed", range(40))
def test_rings_are_those_of_the_graph(seed: int) -> None:
    """One ring for each strongly connected component, as networkx has them: a real one, from its first part on."""
    rng = Random(seed)
    count = rng.randint(3, 12)
    sources = [rng.sample(range(count), rng.randint(0, 2)) for _ in range(count)]
    train = _train(*sources, own_outlets=True)
    graph = nx.DiGraph((s, n) for n, above in enumerate(sources) for s in above)
    components = [c for c in nx.strongly_connected_components(graph) if len(c) > 1 or graph.has_edge(*(2 * [*c]))]
    assert sorted(min(ring) for ring in train.loops) == sorted(min(c) for c in components)
    for ring in train.loops:
        assert ring[0] == min(ring)
        assert len(set(ring)) == len(ring)
        assert all(graph.has_edge(a, b) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))


def test_a_stage_that_its_list_never_turns_is_dry_as_declared() -> None:
    """The list stops the wheel again before the clutch closes; declared it turns the stage, and nothing is filled."""
    parts = """\
  w: {item: wheel}
  c: {item: clutch, driven-by: w}
  a: {item: oiled, ratio: 3, set: reduce, driven-by: c}
  m: {item: mill, driven-by: a}
"""
    steps = "commissioning:\n  - start: w\n  - stop: w\n  - engage: c\n"
    said = commissioning_of(_rig(parts, steps))
    assert [(turn.stage, turn.step) for turn in said.dry_turns] == [(2, None)]
    filled = steps + "  - fill: {part: a, with: 0.7 L}\n"
    assert commissioning_of(_rig(parts, filled)).dry_turns == ()
    charged = "lubrication:\n  c: {lubricant: flax-oil, tank: {holds: 9 L, charge: 3 L}, feeds: [a]}\n" + steps
    assert commissioning_of(_rig(parts, charged)).dry_turns == ()


def test_the_parts_of_a_file_are_counted_as_it_writes_them() -> None:
    """Where nobody says how many it writes, as many as the rig has."""
    rig = _rig("  w: {item: wheel}\n  m: {item: mill, driven-by: w}\n")
    assert solved_rig.solve_rig(rig.rig, rig.file, rig.policy).written_parts == 2
    assert solved_rig.solve_rig(rig.rig, rig.file, rig.policy, (), 7).written_parts == 7


def test_what_carries_just_its_limit_on_the_way_is_not_over_it() -> None:
    """900 N·m at 8 rad/s through a shaft that stands just that, by a list of one step."""
    rig = _rig(
        "  w: {item: wheel}\n  e: {item: edge, driven-by: w}\n  m: {item: mill, driven-by: e}\n",
        "commissioning:\n  - start: w\n",
    )
    (state,) = step_states(rig.train)
    assert (state.over, state.turning, state.share) == ((), 3, 1.0)


def test_two_circuits_of_one_press_have_half_of_it_each() -> None:
    """At 8 rad/s 30 mL in 37 s, by the table 40 - 25 · 3 / 25. The stage that both feed uses 0.3 mL/s."""
    rig = _rig(
        """\
  w: {item: wheel}
  f: {item: fork, driven-by: w, shares: {x: 2, y: 3}}
  a: {item: oiled, ratio: 3, set: reduce, driven-by: f.x}
  m: {item: mill, driven-by: a}
  p: {item: press, driven-by: f.y}
""",
        """\
lubrication:
  c: {lubricant: flax-oil, tank: {holds: 9 L, charge: 3 L}, supplied-by: p, feeds: [a]}
  d: {lubricant: flax-oil, tank: {holds: 7 L, charge: 2 L}, supplied-by: p, feeds: [a]}
""",
    )
    first, second = accounts(rig)
    assert first.supply == second.supply == pytest.approx(0.03 / 37 / 2)
    assert first.supply_when_fed == second.supply_when_fed == pytest.approx(0.03 / 37 / 2)
    assert first.use == second.use == pytest.approx(0.0003)
    assert (first.charge, second.charge) == (3.0, 2.0)
    assert first.net == pytest.approx(0.03 / 74 - 0.0003)


def test_power_that_does_not_balance_is_an_error_of_the_program(monkeypatch: pytest.MonkeyPatch) -> None:
    """Up to five parts are named."""
    monkeypatch.setattr(solved_rig, "unbalanced", lambda train, settings, flows: (0, 2))
    with pytest.raises(OutOfBalanceError, match=r"power does not balance at w, s in given\.rig\.yaml"):
        _rig("  w: {item: wheel}\n  r: {item: rod, driven-by: w}\n  s: {item: rod, driven-by: r}\n")


def test_what_hangs_on_a_locked_combiner_has_no_solution_coupled_or_not() -> None:
    """Uncoupled the shaft below it does not turn, but whether it would is not known either."""
    rig = _rig(LOCKED)
    shaft = rig.rig.index["r"]
    coupled = bytearray(rig.settings.coupled)
    coupled[shaft] = 0
    flows = solve(rig.train, rig.settings._replace(coupled=bytes(coupled)))
    assert [flows.solved[rig.rig.index[name]] for name in "wfsjrm"] == [1, 1, 1, 0, 0, 0]


def test_a_combiner_below_a_locked_one_has_no_solution() -> None:
    """What comes from one inlet is known, what comes from the other is not."""
    rig = _rig(
        LOCKED.replace("  m: ", "  v: {item: wheel}\n  k: {item: joiner, driven-by: [r, v]}\n  m: ").replace(
            "driven-by: r}", "driven-by: k}"
        )
    )
    assert [rig.flows.solved[rig.rig.index[name]] for name in "jrvkm"] == [0, 0, 1, 0, 0]
    assert rig.flows.mismatched == (rig.rig.index["j"],)


def test_a_combiner_that_is_not_coupled_hands_nothing_on() -> None:
    """Its inlets may turn as they like."""
    rig = _rig(LOCKED)
    coupled = bytearray(rig.settings.coupled)
    coupled[rig.rig.index["j"]] = 0
    flows = solve(rig.train, rig.settings._replace(coupled=bytes(coupled)))
    assert all(flows.solved)
    assert (flows.passed[3], flows.speed_out[3], flows.mismatched) == (0.0, 0.0, ())


def test_no_list_is_proposed_for_what_has_no_solution() -> None:
    """The first part without one is named."""
    rig = _rig(LOCKED)
    assert safe_list(rig.train, rig.flows) == Impassable(rig.rig.index["j"])


LEG = """\
blueprint: 1
catalogue: works.catalogue.yaml
inlets: {in: {torque-up-to: 900 N*m, speed-up-to: 8 rad/s}}
parts:
  s: {item: stage, ratio: 3, set: increase, driven-by: in}
outlets: {out: s}
commissioning:
  - set: {part: s, to: increase}
"""


def test_where_no_list_is_safe_the_step_is_that_of_the_rig_s_own_list() -> None:
    """The blueprint's one step comes first, and sets 3 up; by 7 down 2,100 N·m reach a shaft of 900 at the start."""
    rig = rig_from_text(
        """\
rig: 1
catalogue: works.catalogue.yaml
parts:
  w: {item: wheel}
  leg: {blueprint: leg.blueprint.yaml, driven-by: {in: w}}
  k: {item: stage, ratio: 7, set: reduce, driven-by: leg.out}
  e: {item: edge, driven-by: k}
  m: {item: mill, driven-by: e}
""",
        files={"works.catalogue.yaml": CATALOGUE, "leg.blueprint.yaml": LEG},
    )
    found = safe_list(rig.train, rig.flows)
    assert isinstance(found, Impassable) and found.step is not None and found.breach is not None
    assert (found.step, found.number, found.step.kind) == (found.steps[-1], len(found.steps), "start")
    assert (rig.parts[found.part].name, found.breach.carried) == ("e", pytest.approx(2100.0))
    numbers = [step.number for step in with_steps(rig.train, found.steps).rig.steps[1:]]
    assert numbers == list(range(2, len(found.steps) + 2))  # behind the blueprint's, which is the first


def test_a_stage_that_slows_is_not_blamed_for_what_turns_too_fast_below_it() -> None:
    """Delivered, 5/2 down and 7 up: 900 N·m are 2,250 at 3.2 rad/s and then 321 at 22.4, where a shaft turns at 20.

    The first is meant to go up and the second down: both first turn wrong, and the second alone makes it turn so fast.
    """
    more = "  steep: {kind: gear-stage, ratios: [7], delivered: increase}\n"
    more += "  calm: {kind: shaft, speed-limit: 20 rad/s}\n"
    parts = "  w: {item: wheel}\n  a: {item: stage, ratio: 5/2, set: increase, driven-by: w}\n"
    parts += "  b: {item: steep, ratio: 7, set: reduce, driven-by: a}\n  r: {item: calm, driven-by: b}\n"
    text = f"rig: 1\ncatalogue: works.catalogue.yaml\nparts:\n{parts}  m: {{item: mill, driven-by: r}}\n"
    rig = rig_from_text(text, files={"works.catalogue.yaml": CATALOGUE + more})
    turns = {rig.parts[turn.stage].name: turn for turn in commissioning_of(rig).wrong_turns}
    assert (turns["a"].torque_out, turns["a"].speed_out) == (2250.0, 3.2)
    assert turns["a"].breach is None
    breach = turns["b"].breach
    assert breach is not None
    assert (rig.parts[breach.part].name, breach.quantity, breach.carried) == ("r", "speed", pytest.approx(22.4))


def test_of_a_step_that_brings_several_over_their_limits_the_worst_is_the_first() -> None:
    """7 down make 6,300 N·m: twice what the first shaft stands, seven times what the second and the third do."""
    more = "  firm: {kind: shaft, torque-limit: 3150 N*m}\n"
    parts = "  w: {item: wheel}\n  k: {item: stage, ratio: 7, set: reduce, driven-by: w}\n"
    parts += "  a: {item: firm, driven-by: k}\n  b: {item: edge, driven-by: a}\n  c: {item: edge, driven-by: b}\n"
    text = f"rig: 1\ncatalogue: works.catalogue.yaml\nparts:\n{parts}  m: {{item: mill, driven-by: c}}\n"
    (state,) = step_states(rig_from_text(text, files={"works.catalogue.yaml": CATALOGUE + more}).train)
    assert [(breach.part, breach.times_limit) for breach in state.over] == [(3, 7.0), (4, 7.0), (2, 2.0)]
    assert (state.worst, state.share, state.turning) == (3, 7.0, 6)


def test_of_several_parts_that_no_list_spares_the_worst_is_named() -> None:
    """The same: the shaft that carries seven times what it stands, not the one before it that carries twice as much."""
    more = "  firm: {kind: shaft, torque-limit: 3150 N*m}\n"
    parts = "  w: {item: wheel}\n  k: {item: stage, ratio: 7, set: reduce, driven-by: w}\n"
    parts += "  a: {item: firm, driven-by: k}\n  b: {item: edge, driven-by: a}\n  m: {item: mill, driven-by: b}\n"
    text = f"rig: 1\ncatalogue: works.catalogue.yaml\nparts:\n{parts}"
    rig = rig_from_text(text, files={"works.catalogue.yaml": CATALOGUE + more})
    found = safe_list(rig.train, rig.flows)
    assert isinstance(found, Impassable) and found.breach is not None
    assert (rig.parts[found.part].name, found.breach.times_limit) == ("b", 7.0)


def test_a_circuit_that_nothing_draws_on_lasts_for_ever() -> None:
    """The stage stands still behind an open clutch: it uses nothing, and nothing is supplied."""
    rig = _rig(
        "  w: {item: wheel}\n  c: {item: clutch, engaged: false, driven-by: w}\n"
        "  a: {item: oiled, ratio: 3, set: reduce, driven-by: c}\n  m: {item: mill, driven-by: a}\n",
        "lubrication:\n  c: {lubricant: flax-oil, tank: {holds: 9 L, charge: 3 L}, feeds: [a]}\n",
    )
    (account,) = accounts(rig)
    assert (account.use, account.supply, account.runs_dry_after, account.runs_dry_when_fed) == (0.0, 0.0, None, None)


def test_what_leads_to_a_part_without_solution_is_told_without_plain_links() -> None:
    """The wheel, the fork and what locks; neither the rod behind the wheel nor that before the combiner."""
    body = LOCKED.replace("driven-by: w,", "driven-by: p,").replace("f.b]", "q]")
    rods = "  p: {item: rod, driven-by: w}\n  q: {item: rod, driven-by: f.b}\n"
    rig = _rig(body + rods)
    told = [cause.part for cause in causes(rig, rig.rig.index["m"])]
    assert told == ["w", "f", "j"]  # 540 N·m by the rod against 360 / 3 by the stage
    assert [cause.part for cause in causes(rig, rig.rig.index["q"])] == ["w", "f"]


def test_a_circuit_of_another_oil_fills_no_part() -> None:
    """A safe list fills what a circuit feeds with lamp oil; what it feeds with its own it does not."""
    line = "  w: {item: wheel}\n  a: {item: oiled, ratio: 3, set: reduce, driven-by: w}\n"
    parts = f"{line}  m: {{item: mill, driven-by: a}}\n"
    for oil, charge, kinds in (
        ("lamp-oil", "3 L", ["fill", "couple", "start"]),
        ("flax-oil", "3 L", ["couple", "start"]),
        ("flax-oil", "0 L", ["fill", "couple", "start"]),
    ):
        circuit = f"lubrication:\n  c: {{lubricant: {oil}, tank: {{holds: 9 L, charge: {charge}}}, feeds: [a]}}\n"
        found = safe_list(*(lambda rig: (rig.train, rig.flows))(_rig(parts, circuit)))
        assert [step.kind for step in found.steps] == kinds


def test_a_prime_mover_of_an_inlet_is_slowed_and_no_other() -> None:
    """8 rad/s by 0.7 are 5.6; what has a table keeps it."""
    movers = "w: {item: wheel}\nm: {item: mill, driven-by: w}\nv: {item: weir, head: 3 m}\n"
    rig = solved(f"{movers}n: {{item: mill, driven-by: v}}")
    assert _slowed(rig.parts[0], 0.7).item.source == Output(900.0, pytest.approx(5.6))
    assert _slowed(rig.parts[2], 0.7) == rig.parts[2]
