"""Too much lubricant, or another than a part takes: what is told, and what the last of several fills may hold."""

import pytest

from lineshaft.api import Finding, Fix, NoFix, Offer
from lineshaft.rules.lubricant_overfill import RULE, repairs
from lineshaft.testing import findings_of, rig_from_text

CATALOGUE = """\
catalogue: 1
edition: "1"
lubricants: [flax-oil, lamp-oil]
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 7 rad/s}}
  dry: {kind: gear-stage, ratios: [3]}
  oiled: {kind: gear-stage, ratios: [3], lubricant: {kind: flax-oil, holds: 4.5 L, uses: 0.3 mL/s}}
  lit: {kind: gear-stage, ratios: [3], lubricant: {kind: lamp-oil, holds: 5 L, uses: 0.7 mL/s}}
  mill: {kind: driven-machine}
"""
RIG = """\
rig: 1
catalogue: works.catalogue.yaml
parts:
  wheel: {item: wheel}
  a: {item: %s, ratio: 3, set: reduce, driven-by: wheel}
  b: {item: oiled, ratio: 3, set: reduce, driven-by: a}
  mill: {item: mill, driven-by: b}
"""
FILES = {"works.catalogue.yaml": CATALOGUE}


def _found(text: str) -> tuple[Finding, ...]:
    return findings_of(RULE, text, files=FILES)


def _offered(text: str) -> list[Offer]:
    (finding,) = _found(text)
    return list(repairs(rig_from_text(text, files=FILES), finding))


def _filled(*litres: float) -> str:
    steps = "".join(f"  - fill: {{part: b, with: {amount} L}}\n" for amount in litres)
    return RIG % "dry" + f"commissioning:\n{steps}  - start: wheel\n"


def _on_a_circuit(item: str) -> str:
    circuit = "lubrication:\n  flax: {lubricant: flax-oil, tank: {holds: 30 L, charge: 9 L}, feeds: [a, b]}\n"
    return RIG % item + circuit


@pytest.mark.parametrize(("item", "told"), [("oiled", []), ("lit", ["a"]), ("dry", [])])
def test_a_circuit_feeds_no_part_that_takes_another_lubricant(item: str, told: list[str]) -> None:
    """Flax oil is right for one, wrong for a part that takes lamp oil, and no matter for one that takes none."""
    assert [finding.part for finding in _found(_on_a_circuit(item))] == told


def test_piping_is_nobodys_to_offer() -> None:
    """Which lubricant goes where is for whoever pipes it."""
    (offer,) = _offered(_on_a_circuit("lit"))
    assert isinstance(offer, NoFix)


def test_the_last_fill_is_cut_to_what_the_others_leave() -> None:
    """2 L and then 3.9 L make 5.9 of 4.5 L: the second may be 4.5 - 2 = 2.5 L."""
    (finding,) = _found(_filled(2, 3.9))
    assert [(name, measure.value) for name, measure in finding.values] == [
        ("charge", pytest.approx(5.9)),
        ("holds", pytest.approx(4.5)),
    ]
    (offer,) = _offered(_filled(2, 3.9))
    assert isinstance(offer, Fix)
    assert [edit.text for edit in offer.edits] == ["2.5 L"]


def test_a_fill_behind_a_full_one_is_left_out() -> None:
    """4.5 L fill it; nothing is left for another."""
    (offer,) = _offered(_filled(4.5, 1))
    assert isinstance(offer, NoFix)
    assert "leave this step out" in offer.reason


def test_fills_that_just_go_in_are_no_fault() -> None:
    """2 L and 2.5 L are the 4.5 L that it holds."""
    assert _found(_filled(2, 2.5)) == ()
