"""How often lines cross, against the layout of the version before: 300 seeded rigs and 300 nets with many rings."""

import json
from pathlib import Path
from random import Random

import pytest
from rig_maker import make_rig

from lineshaft.write.drawing.layers import net_of
from lineshaft.write.drawing.order import crossings, layer_order

Links = list[tuple[int, int]]
SEEDS = 300
BEFORE = json.loads(Path(__file__).with_name("crossings_before.json").read_text("utf-8"))
"""Crossings by seed in version 0.2.0, whose order was that of a graph library."""


def size_of(seed: int) -> int:
    """From 5 to 150 parts."""
    return 5 + seed % 146


def rig_links(seed: int) -> Links:
    """What drives what in a seeded rig, parts in the order of the file."""
    parts = make_rig(seed, size_of(seed)).data["parts"]
    number = {name: at for at, name in enumerate(parts)}
    found = []
    for name, part in parts.items():
        drivers = part.get("driven-by", [])
        for driver in drivers if isinstance(drivers, list) else [drivers]:
            source = driver if driver in number else driver.rpartition(".")[0]
            found.append((number[source], number[name]))
    return found


def net_links(seed: int) -> Links:
    """A tree with a line more to every twelfth part, which no rig has."""
    rng, count = Random(seed), size_of(seed)
    links = [(rng.randrange(max(0, n - 9), n), n) for n in range(1, count) if rng.random() > 0.05]
    for _ in range(count // 12):
        source, target = sorted(rng.sample(range(count), 2))
        links.append((source, target))
    return links


def crossed(seed: int, links: Links) -> int:
    """Crossings in the order that the layout chooses."""
    net = net_of(size_of(seed), links)
    return crossings(net.layer, net.steps, layer_order(net.layer, net.steps))


@pytest.mark.parametrize(("name", "made"), [("rigs", rig_links), ("nets", net_links)])
def test_no_seed_has_more_crossings_than_before(name: str, made: object) -> None:
    """Each of the 300 has at most what it had, by the record made before the layout was changed."""
    assert len(BEFORE[name]) == SEEDS
    found = [crossed(seed, made(seed)) for seed in range(SEEDS)]
    assert [seed for seed in range(SEEDS) if found[seed] > BEFORE[name][seed]] == []
