"""Lubricant: who begins to turn dry, loops, and time to dry against closed-form arithmetic."""

from pathlib import Path

import pytest
from solve.started_rigs import solved

from lineshaft.solve.commissioning import commissioning_of
from lineshaft.solve.lubricant_accounts import accounts
from lineshaft.solve.lubricant_loops import loops_of
from lineshaft.solve.solved_rig import SolvedRig

_PARTS = """\
parts:
  wheel: {item: wheel}
  divide: {item: divider, driven-by: wheel, shares: {mill: 1, press: 1}}
  step: {item: oiled, ratio: 5, set: reduce, driven-by: divide.mill}
  mill: {item: mill, driven-by: step}
  clutch: {item: clutch, driven-by: divide.press}
  press: {item: press, driven-by: clutch}
"""
_LOOP = """\
parts:
  wheel: {item: wheel}
  step: {item: oiled, ratio: 5, set: increase, driven-by: wheel}
  press: {item: press, driven-by: step}
"""


def _circuit(charge: str, press: bool = True, feeds: str = "step") -> str:
    supplied = "    supplied-by: press\n" if press else ""
    tank = f"    tank: {{holds: 40 L, charge: {charge}}}\n"
    return f"lubrication:\n  flax:\n    lubricant: flax-oil\n{tank}{supplied}    feeds: [{feeds}]\n"


def _dry(rig: SolvedRig) -> list[str]:
    return [rig.parts[turn.stage].name for turn in commissioning_of(rig).dry_turns]


@pytest.mark.parametrize(
    ("tail", "dry"),
    [
        ("", ["step"]),
        (_circuit("1 L", press=False), []),
        (_circuit("0 L"), ["step"]),
        ("commissioning:\n  - fill: {part: step, with: 2 L}\n  - start: wheel\n", []),
        ("commissioning:\n  - start: wheel\n  - fill: {part: step, with: 2 L}\n", ["step"]),
        (_circuit("0 L") + "commissioning:\n  - start: wheel\n", ["step"]),
        (_circuit("0 L") + "commissioning:\n  - start: wheel\n  - couple: step\n", []),
    ],
    ids=["nothing", "charged", "no list: press at once", "filled", "filled late", "press at once", "press before"],
)
def test_lubricant_at_the_first_turn(tmp_path: Path, tail: str, dry: list[str]) -> None:
    """A stage needs a fill, a charge, or a press that turned in the state before (fill first: API RP 686 ch. 8)."""
    assert _dry(solved(tmp_path, _PARTS + tail)) == dry


def test_a_press_behind_its_own_stage_is_a_loop(tmp_path: Path) -> None:
    """Nothing charged or filled: the circuit can never start. One litre in the tank, or a fill, opens the loop."""
    assert [loop.stages for loop in loops_of(solved(tmp_path, _LOOP + _circuit("0 L")).train)] == [(1,)]
    assert loops_of(solved(tmp_path, _LOOP + _circuit("1 L")).train) == ()
    filled = _circuit("0 L") + "commissioning:\n  - fill: {part: step, with: 1 L}\n  - start: wheel\n"
    assert loops_of(solved(tmp_path, _LOOP + filled).train) == ()
    assert loops_of(solved(tmp_path, _PARTS + _circuit("0 L")).train) == ()


@pytest.mark.parametrize("charge", [0.5, 1.0, 7.25])
def test_time_to_dry_without_a_press(tmp_path: Path, charge: float) -> None:
    """charge / uses, with 0.2 mL/s in use: 1 L lasts 5,000 s."""
    (account,) = accounts(solved(tmp_path, _PARTS + _circuit(f"{charge} L", press=False)))
    assert account.runs_dry_after == pytest.approx(charge / 0.0002, rel=1e-12)


def test_a_press_makes_its_amount_each_time_of_work(tmp_path: Path) -> None:
    """At 8 rad/s a pressing takes 40 − 30·3/35 = 37.43 s; 30 mL each is 0.8015 mL/s, more than the 0.2 in use."""
    (account,) = accounts(solved(tmp_path, _PARTS + _circuit("1 L")))
    assert account.supply == pytest.approx(0.030 / (40 - 30 * 3 / 35), rel=1e-12)
    assert account.use == pytest.approx(0.0002)
    assert account.runs_dry_after is None


def test_time_to_dry_is_charge_over_net_loss(tmp_path: Path) -> None:
    """Nine stages use 1.8 mL/s against 0.8015: 2 L last 2 / (0.0018 − 0.0008015) s."""
    parts = _PARTS
    above = "divide.mill"
    parts = parts.replace("  mill: {item: mill, driven-by: step}\n", "").replace("set: reduce", "set: increase")
    names = ["step"]
    for number in range(8):
        way = "reduce" if number % 2 == 0 else "increase"
        above = names[-1]
        names.append(f"s{number}")
        parts += f"  s{number}: {{item: oiled, ratio: 5, set: {way}, driven-by: {above}}}\n"
    parts += f"  mill: {{item: mill, driven-by: {names[-1]}}}\n"
    (account,) = accounts(solved(tmp_path, parts + _circuit("2 L", feeds=", ".join(names))))
    supply = 0.030 / (40 - 30 * 3 / 35)
    assert account.runs_dry_after == pytest.approx(2 / (9 * 0.0002 - supply), rel=1e-9)


def test_a_fill_lasts_fill_over_uses_and_fills_add_up(tmp_path: Path) -> None:
    """0.5 L and 0.25 L at 0.2 mL/s last 3,750 s; a press behind an open clutch makes nothing."""
    fills = "commissioning:\n" + "".join(f"  - fill: {{part: step, with: {a} L}}\n" for a in (0.5, 0.25))
    rig = solved(tmp_path, _PARTS + fills + "  - start: wheel\n")
    (account,) = accounts(rig)
    assert account.name == "step"
    assert account.runs_dry_after == pytest.approx(3750, rel=1e-12)
    still = _PARTS.replace("{item: clutch,", "{item: clutch, engaged: false,")
    (account,) = accounts(solved(tmp_path, still + _circuit("1 L")))
    assert account.supply == 0
