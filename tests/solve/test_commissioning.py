"""Start-up step by step against tables worked out by hand: T·5 and ω/5 where a stage reduces, T/5 and ω·5 where not."""

from itertools import pairwise
from pathlib import Path
from random import Random

import pytest
from rig_maker import make_rig
from solve.started_rigs import solved

from lineshaft.check.causes import passing_causes
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository
from lineshaft.solve.commissioning import commissioning_of, judge_start_up
from lineshaft.solve.safe_list import Impassable, SafeList, safe_list, with_steps
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded
from lineshaft.solve.start_up import before_first_step
from lineshaft.solve.steady_state import solve
from lineshaft.solve.step_states import step_states

_LINE = """\
parts:
  wheel: {item: wheel}
  step: {item: stage, ratio: 5, set: increase, driven-by: wheel}
  clutch: {item: clutch, driven-by: step}
  rod: {item: rod, driven-by: clutch}
  mill: {item: mill, driven-by: rod}
"""


def _list(*steps: str) -> str:
    return "commissioning:\n" + "".join(f"  - {step}\n" for step in steps)


SET = "set: {part: step, to: increase}"
BACK = "set: {part: step, to: reduce}"


def test_states_of_a_line_by_hand(tmp_path: Path) -> None:
    """Torque and speed out of step and rod after each step are those of a hand table; an open clutch passes nothing."""
    steps = ("couple: step", "start: wheel", SET, "engage: clutch", BACK, "disengage: clutch", "stop: wheel")
    rig = solved(tmp_path, _LINE + _list(*steps))
    step, rod = rig.rig.index["step"], rig.rig.index["rod"]
    table = [
        # step out, rod out; turning now
        ((0, 0), (0, 0), ()),
        ((5000, 1.6), (0, 0), ("wheel", "step", "clutch")),
        ((200, 40), (0, 0), ()),
        ((200, 40), (200, 40), ("rod", "mill")),
        ((5000, 1.6), (5000, 1.6), ()),
        ((5000, 1.6), (0, 0), ()),
        ((0, 0), (0, 0), ()),
    ]
    start_up = before_first_step(rig.train)
    passages = 0
    for passage, (step_out, rod_out, turns) in zip(start_up.passages(), table, strict=True):
        flows = start_up.flows()
        assert (flows.torque_out[step], flows.speed_out[step]) == step_out
        assert (flows.torque_out[rod], flows.speed_out[rod]) == rod_out
        assert tuple(rig.parts[n].name for n in passage.turns) == turns
        passages += 1
    assert passages == len(steps)


def test_begin_state(tmp_path: Path) -> None:
    """Stages as delivered, wheels stopped, parts with a couple step uncoupled, clutches as before their first step."""
    rig = solved(tmp_path, _LINE + _list("couple: rod", "disengage: clutch", "engage: clutch", "start: wheel"))
    start_up = before_first_step(rig.train)
    index = rig.rig.index
    assert not start_up.increasing[index["step"]]
    assert not start_up.running[index["wheel"]]
    assert not start_up.coupled[index["rod"]]
    assert start_up.coupled[index["step"]]
    assert start_up.closed[index["clutch"]]
    rig = solved(tmp_path, _LINE + _list("engage: clutch", "start: wheel"))
    assert not before_first_step(rig.train).closed[index["clutch"]]


def test_the_wrong_turn_names_step_part_and_times(tmp_path: Path) -> None:
    """Started as delivered the stage carries 1 kN·m · 5 = 5 kN·m against 3: 5/3 times; no overload is told beside."""
    found = commissioning_of(solved(tmp_path, _LINE + _list("start: wheel", SET)))
    (turn,) = found.wrong_turns
    assert turn.step is not None
    assert turn.step.number == 1
    assert (turn.torque_out, turn.speed_out) == (5000, 1.6)
    assert turn.breach is not None
    assert turn.breach.times_limit == pytest.approx(5 / 3)
    assert found.overloads == ()
    assert found.differences == ()


def test_a_breach_further_down_and_later_is_an_overload(tmp_path: Path) -> None:
    """A rod of 3 kN·m behind a clutch breaks only when that closes; the stage itself stands its 5 kN·m at step 1."""
    body = _LINE.replace("{item: stage,", "{item: strong-stage,").replace("{item: rod,", "{item: iron-rod,")
    rig = solved(tmp_path, body + _list("start: wheel", "engage: clutch", SET))
    found = commissioning_of(rig)
    (turn,) = found.wrong_turns
    assert turn.breach is None
    (overload,) = found.overloads
    assert (overload.step.number, rig.parts[overload.breach.part].name) == (2, "rod")
    assert [rig.parts[n].name for n in overload.wrong] == ["step"]


def test_wrong_turns_of_one_state_share_what_leads_to_them(tmp_path: Path) -> None:
    """Eleven stages in a line, all as delivered: what the first passes on is told once, by each that it leads to."""
    names = [f"s{n}" for n in range(11)]
    above = ["wheel", *names]
    rows = [
        f"  {n}: {{item: stage, ratio: 5, set: increase, driven-by: {a}}}\n" for n, a in zip(names, above, strict=False)
    ]
    rig = solved(tmp_path, "parts:\n  wheel: {item: wheel}\n" + "".join(rows))
    chains = [turn.chain for turn in commissioning_of(rig).wrong_turns]
    assert len(chains) == 11
    assert all(a[0] is b[0] and a[1] is b[1] for a, b in pairwise(chains))
    caused = [passing_causes(rig, chain) for chain in chains]
    assert all(a[0] is b[0] for a, b in pairwise(caused))


def test_no_list_is_the_rig_as_delivered(tmp_path: Path) -> None:
    """Without a list all starts at once as delivered: one wrong turn without a step and nothing else."""
    found = commissioning_of(solved(tmp_path, _LINE))
    (turn,) = found.wrong_turns
    assert turn.step is None
    assert (found.overloads, found.differences) == ((), ())


def test_the_same_part_is_told_once(tmp_path: Path) -> None:
    """A part that goes over its limit again and again is one overload, at the first step that does it."""
    rig = solved(tmp_path, _LINE + _list(SET, "start: wheel", BACK, SET, BACK, SET))
    (overload,) = commissioning_of(rig).overloads
    assert overload.step.number == 3


def test_an_overload_of_the_declared_rig_is_not_told_again(tmp_path: Path) -> None:
    """A stage that is meant to reduce carries 5 kN·m of 3 when finished too: that is the steady rule's finding."""
    body = _LINE.replace("set: increase", "set: reduce")
    found = commissioning_of(solved(tmp_path, body + _list("start: wheel")))
    assert (found.wrong_turns, found.overloads) == ((), ())


def test_what_the_end_differs_in(tmp_path: Path) -> None:
    """A list that leaves the wheel stopped, the clutch open and the stage as delivered names all three."""
    rig = solved(tmp_path, _LINE + _list("start: wheel", "stop: wheel", "disengage: clutch"))
    found = commissioning_of(rig).differences
    named = {(rig.parts[d.part].name, d.what) for d in found}
    assert named == {("wheel", "prime mover"), ("clutch", "clutch"), ("step", "direction")}


def test_an_empty_list_is_incomplete(tmp_path: Path) -> None:
    """`commissioning: []` starts nothing."""
    body = "parts:\n  wheel: {item: wheel}\n  mill: {item: mill, driven-by: wheel}\ncommissioning: []\n"
    rig = solved(tmp_path, body)
    assert [d.what for d in commissioning_of(rig).differences] == ["prime mover"]


def test_safe_list_follows_practice(tmp_path: Path) -> None:
    """Fill, then direction, then coupling, the wheel uncoupled until then, start last (API RP 686 ch. 8, 9)."""
    rig = solved(tmp_path, _LINE.replace("{item: stage", "{item: oiled"))
    found = safe_list(rig.train, rig.flows)
    assert isinstance(found, SafeList)
    written = [(step.kind, rig.parts[step.part].name) for step in found.steps]
    assert written == [
        ("fill", "step"),
        ("set", "step"),
        ("engage", "clutch"),
        ("couple", "step"),
        ("start", "wheel"),
    ]
    assert [step.amount for step in found.steps] == [6, 0, 0, 0, 0]
    assert [step.to for step in found.steps] == [None, "increase", None, None, None]


@pytest.mark.parametrize(
    ("fills", "amount"), [((), 6), ((3.5,), 3.5), ((2, 1.5), 3.5), ((6,), 6), ((4, 3), 6), ((0,), 6)]
)
def test_a_safe_list_fills_what_the_rig_s_own_list_does_where_there_is_room(
    tmp_path: Path, fills: tuple[float, ...], amount: float
) -> None:
    """The stage holds 6 L: as much as its fills give together, and all that it holds where that is nothing or more."""
    steps = [f"fill: {{part: step, with: {each} L}}" for each in fills]
    line = _LINE.replace("{item: stage", "{item: oiled")
    rig = solved(tmp_path, line + _list("couple: step", *steps, "start: wheel"))
    found = safe_list(rig.train, rig.flows)
    assert isinstance(found, SafeList)
    assert [step.amount for step in found.steps if step.kind == "fill"] == [amount]


def test_a_declared_overload_cannot_be_passed(tmp_path: Path) -> None:
    """Meant to reduce, the stage carries 5 kN·m against 3 kN·m whatever the order; the start is the step that fails."""
    rig = solved(tmp_path, _LINE.replace("set: increase", "set: reduce"))
    found = safe_list(rig.train, rig.flows)
    assert isinstance(found, Impassable)
    assert found.breach is not None
    assert found.step is not None
    assert found.step.kind == "start"
    assert (rig.parts[found.part].name, found.breach.carried, found.breach.limit) == ("step", 5000, 3000)


def _made(folder: Path, seed: int, parts: int = 40) -> SolvedRig:
    folder = folder.resolve()
    made = make_rig(seed, parts)
    (folder / made.catalogue).write_text(made.catalogue_text, encoding="utf-8")
    path = folder / "made.rig.yaml"
    path.write_text(made.text, encoding="utf-8")
    return solve_loaded(Loader(Repository(folder, folder)).rig(path))


@pytest.mark.parametrize("seed", range(12))
def test_proposed_lists_pass_no_overload(tmp_path: Path, seed: int) -> None:
    """Whatever clean rig is made: the proposed list has no wrong, dry or over-limit state and ends as declared."""
    rig = _made(tmp_path, seed)
    found = safe_list(rig.train, rig.flows)
    assert isinstance(found, SafeList)
    assert all(state.over == () and state.share <= 1 + 1e-9 for state in step_states(found.train))
    judged = judge_start_up(found.train, rig.flows)
    assert (judged.wrong_turns, judged.overloads, judged.dry_turns, judged.differences) == ((), (), (), ())


@pytest.mark.parametrize("seed", range(12))
def test_a_set_step_left_out_is_found(tmp_path: Path, seed: int) -> None:
    """Take any one `set` out of a proposed list: that stage is told of, and so is how the list ends."""
    rig = _made(tmp_path, seed)
    found = safe_list(rig.train, rig.flows)
    assert isinstance(found, SafeList)
    for left_out in [step for step in found.steps if step.kind == "set"]:
        train = with_steps(rig.train, [step for step in found.steps if step is not left_out])
        judged = judge_start_up(train, rig.flows)
        assert left_out.part in [turn.stage for turn in judged.wrong_turns]
        assert left_out.part in [difference.part for difference in judged.differences]


@pytest.mark.parametrize("seed", range(8))
def test_step_by_step_is_the_whole_solve(tmp_path: Path, seed: int) -> None:
    """Steps in any order, starts and stops among them: after each, the state is what solving the whole rig gives."""
    rig = _made(tmp_path, seed)
    found = safe_list(rig.train, rig.flows)
    assert isinstance(found, SafeList)
    steps = [step for step in found.steps for _ in range(2)]
    steps += [step._replace(kind="stop") for step in found.steps if step.kind == "start"]
    Random(seed).shuffle(steps)
    train = with_steps(rig.train, steps)
    start_up = before_first_step(train)
    for _ in start_up.passages():
        whole, now = solve(train, start_up.settings), start_up.flows()
        assert now.solved == whole.solved
        assert sorted(now.mismatched) == sorted(whole.mismatched)
        kept = [n for n in train.order if whole.solved[n]]
        assert [now.torque_out[n] for n in kept] == [whole.torque_out[n] for n in kept]
        assert [now.speed_out[n] for n in kept] == [whole.speed_out[n] for n in kept]
