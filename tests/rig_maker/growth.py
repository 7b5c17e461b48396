"""Large rigs that are odd in one way each, of any size: what a check does on them has to grow as they do.

The catalogue and all that is named here are made up; sizes count the thing that there are many of.
"""

from collections.abc import Callable, Mapping

CATALOGUE = """catalogue: 1
edition: "1"
lubricants: [flax-oil]
grades: {iron: {torque-limit: 70 N*m, speed-limit: 9 rad/s}, steel: {torque-limit: 7 kN*m, speed-limit: 9 rad/s}}
items:
  wheel: {kind: prime-mover, output: {torque: 90 N*m, speed: 3 rad/s}}
  race: {kind: prime-mover, hydraulic: {flow: 1 m^3/s, speed: 3 rad/s}}
  shaft: {kind: shaft}
  rod: {kind: shaft, grades: [iron, steel]}
  stage: {kind: gear-stage, ratios: [5/2, 3]}
  near: {kind: gear-stage, ratios: [1001/1000], torque-limit: 95 N*m}
  wet: {kind: gear-stage, ratios: [3], lubricant: {kind: flax-oil, holds: 3 L, uses: 7 mL/s}}
  divider: {kind: splitter, outlets: 2, shares: any}
  fan: {kind: splitter, shares: any}
  gatherer: {kind: combiner, inlets: 2}
  mill: {kind: driven-machine, needs: {torque: 50 N*m}}
"""
_HEAD = "rig: 1\ncatalogue: c.catalogue.yaml\nparts:\n"
_LEG = """blueprint: 1
catalogue: c.catalogue.yaml
inlets: {in: {torque-up-to: 900 N*m, speed-up-to: 8 rad/s}}
parts: {s: {item: rod, grade: iron, driven-by: in}, m: {item: mill, driven-by: s}}
"""
Files = dict[str, str]


def _rig(parts: list[str], below: list[str] | None = None, **others: str) -> Files:
    text = _HEAD + "".join(f"  {part}\n" for part in parts) + "".join(f"{line}\n" for line in below or ())
    return {"c.catalogue.yaml": CATALOGUE, "a.rig.yaml": text, **others}


def _line(size: int, part: str) -> list[str]:
    """Parts one below the other; ``part`` is what stands in the braces before `driven-by`."""
    return ["w: {item: wheel}", *(f"p{n}: {{{part}, driven-by: {f'p{n - 1}' if n else 'w'}}}" for n in range(size))]


def one_loop(size: int) -> Files:
    """One ring of shafts."""
    return _rig([f"p{n}: {{item: shaft, driven-by: p{(n + 1) % size}}}" for n in range(size)])


def many_loops(size: int) -> Files:
    """Rings of two."""
    pairs = [(f"a{n}", f"b{n}") for n in range(size)]
    return _rig([f"{one}: {{item: shaft, driven-by: {other}}}" for a, b in pairs for one, other in ((a, b), (b, a))])


def ladder(size: int) -> Files:
    """Splitters and combiners in turn, down to one machine."""
    parts = ["w: {item: wheel}"]
    for n in range(size):
        above = f"g{n - 1}" if n else "w"
        parts.append(f"d{n}: {{item: divider, driven-by: {above}, shares: {{a: 2, b: 3}}}}")
        parts.append(f"g{n}: {{item: gatherer, driven-by: [d{n}.a, d{n}.b]}}")
    return _rig([*parts, f"m: {{item: mill, driven-by: g{size - 1}}}"])


def not_offered(size: int) -> Files:
    """A line of stages in a ratio that there is not."""
    return _rig(_line(size, "item: stage, ratio: 7, set: reduce"))


def unknown_references(size: int) -> Files:
    """Shafts driven by parts that are not there."""
    odd = [f"part-number-{n}: {{item: shaft, driven-by: part-numbr-{n * 7919 % size}x}}" for n in range(size)]
    return _rig(["w: {item: wheel}", *odd])


def unknown_items(size: int) -> Files:
    """Parts of items that are not there, beside a catalogue of as many."""
    files = _rig(["w: {item: wheel}", *(f"p{n}: {{item: shaftt{n}, driven-by: w}}" for n in range(size))])
    return {**files, "c.catalogue.yaml": CATALOGUE + "".join(f"  shafty{n}: {{kind: shaft}}\n" for n in range(size))}


def unknown_keys(size: int) -> Files:
    """Parts with keys that there are not."""
    return _rig(["w: {item: wheel}", *(f"p{n}: {{item: shaft, driven-bi: w, coluor: 1}}" for n in range(size))])


def bad_quantities(size: int) -> Files:
    """Heads without a unit."""
    return _rig([f"p{n}: {{item: race, head: {n + 1}}}" for n in range(size)])


def short_lines(size: int) -> Files:
    """Lines of three, each over its limit."""
    parts = []
    for n in range(size):
        parts += [f"w{n}: {{item: wheel}}", f"s{n}: {{item: rod, grade: iron, driven-by: w{n}}}"]
        parts.append(f"m{n}: {{item: mill, driven-by: s{n}}}")
    return _rig(parts)


def one_line_over(size: int) -> Files:
    """One line of shafts, each over its limit."""
    return _rig([*_line(size, "item: rod, grade: iron"), f"m: {{item: mill, driven-by: p{size - 1}}}"])


def waivers(size: int) -> Files:
    """As many waivers of two parts."""
    parts = ["w: {item: wheel}", "s: {item: rod, grade: iron, driven-by: w}", "m: {item: mill, driven-by: s}"]
    ends = "reason: proof-loaded, until: 2099-03-31}"
    listed = [
        f"  - {{rule: torque-over-limit, part: {'sm'[n % 2]}, up-to: {1 + n / 100}, {ends}" for n in range(size)
    ]
    return _rig(parts, ["waivers:", *listed])


def readings(size: int) -> Files:
    """As many readings of three parts."""
    parts = ["w: {item: wheel}", "s: {item: shaft, driven-by: w}", "m: {item: mill, driven-by: s}"]
    return _rig(parts, ["readings:", *(f"  - {{at: {'wsm'[n % 3]}, torque: {n % 80 + 1} N*m}}" for n in range(size))])


def start_list(size: int) -> Files:
    """A line of shafts behind a list that starts and stops its wheel over and over."""
    steps = [f"  - {'stop' if n % 2 else 'start'}: w" for n in range(7)]
    sets = [f"  - set: {{part: p{n}, to: {'reduce' if n % 2 else 'increase'}}}" for n in range(size)]
    parts = ["w: {item: wheel}"]
    for n in range(size):
        way = "reduce" if n % 2 else "increase"
        parts.append(f"p{n}: {{item: stage, ratio: 3, set: {way}, driven-by: {f'p{n - 1}' if n else 'w'}}}")
    return _rig(parts, ["commissioning:", *sets, *steps])


def wrong_turns(size: int) -> Files:
    """Stages in line that all turn the wrong way as delivered, so that most are over their limit at the last."""
    return _rig(_line(size, "item: near, ratio: 1001/1000, set: increase"))


def wide_splitter(size: int) -> Files:
    """One splitter with as many outlets, each to a machine."""
    shares = ", ".join(f"o{n}: {n % 7 + 1}" for n in range(size))
    machines = [f"m{n}: {{item: mill, driven-by: d.o{n}}}" for n in range(size)]
    return _rig(["w: {item: wheel}", f"d: {{item: fan, driven-by: w, shares: {{{shares}}}}}", *machines])


def circuits(size: int) -> Files:
    """As many circuits, each with one stage of a line, half of them dry."""
    parts = ["w: {item: wheel}"]
    for n in range(size):
        way = "reduce" if n % 2 else "increase"
        parts.append(f"p{n}: {{item: wet, ratio: 3, set: {way}, driven-by: w{n}}}")
        parts.append(f"w{n}: {{item: wheel}}")
    tank = "lubricant: flax-oil, tank: {holds: 9 L, charge: %d L}"
    tanks = [f"  l{n}: {{{tank % (n % 2)}, feeds: [p{n}]}}" for n in range(size)]
    return _rig(parts, ["lubrication:", *tanks])


def goods(size: int) -> Files:
    """A wheel made of goods that are made of goods, as deep."""
    made = CATALOGUE.replace("wheel: {kind", "wheel: {made-of: {x0: 3}, kind") + "components:\n"
    for n in range(size):
        made += f"  x{n}: {{made-of: {{x{n + 1}: 9, y{n + 1}: 9}}, yields: 3}}\n"
        made += f"  y{n}: {{made-of: {{x{n + 1}: 9, y{n + 1}: 9}}, yields: 7}}\n"
    made += f"raw: {{x{size}: {{worth: 1}}, y{size}: {{worth: 1}}}}\n"
    return {**_rig(["w: {item: wheel}", "m: {item: mill, driven-by: w}"]), "c.catalogue.yaml": made}


def placed_legs(size: int) -> Files:
    """One blueprint put in place as often, each time with the same fault, on a wheel of its own."""
    parts = []
    for n in range(size):
        parts += [f"w{n}: {{item: wheel}}", f"leg{n}: {{blueprint: leg.blueprint.yaml, driven-by: w{n}}}"]
    return _rig(parts, **{"leg.blueprint.yaml": _LEG})


def wrong_names_of_legs(size: int) -> Files:
    """A part named as in its blueprint's file, which another file does not know, as often."""
    parts = ["v: {item: wheel}", "leg: {blueprint: leg.blueprint.yaml, driven-by: v}"]
    parts += [f"p{n}: {{item: shaft, driven-by: s}}" for n in range(size)]
    return _rig(parts, **{"leg.blueprint.yaml": _LEG})


def beyond_reckoning(size: int) -> Files:
    """A line of stages that leaves what is reckoned with on its way."""
    return _rig(_line(size, "item: stage, ratio: 3, set: reduce"))


def shared_outlets(size: int) -> Files:
    """As many shafts on one outlet."""
    return _rig(["w: {item: wheel}", *(f"p{n}: {{item: shaft, driven-by: w}}" for n in range(size))])


def open_ends(size: int) -> Files:
    """As many splitters, each with an open outlet, below one wide one."""
    shares = ", ".join(f"o{n}: {n % 7 + 1}" for n in range(size))
    parts = ["w: {item: wheel}", f"d: {{item: fan, driven-by: w, shares: {{{shares}}}}}"]
    for n in range(size):
        parts += [f"d{n}: {{item: divider, driven-by: d.o{n}, shares: {{a: 2, b: 3}}}}"]
        parts.append(f"m{n}: {{item: mill, driven-by: d{n}.a}}")
    return _rig(parts)


def same_anchors(size: int) -> Files:
    """One part written once and repeated by alias."""
    return _rig(["w: {item: wheel}", "x: &x {item: shaft, driven-by: w}", *(f"p{n}: *x" for n in range(size))])


KINDS: Mapping[str, Callable[[int], Files]] = {
    made.__name__.replace("_", "-"): made
    for made in (
        one_loop,
        many_loops,
        ladder,
        not_offered,
        unknown_references,
        unknown_items,
        unknown_keys,
        bad_quantities,
        short_lines,
        one_line_over,
        waivers,
        readings,
        start_list,
        wrong_turns,
        wide_splitter,
        circuits,
        goods,
        placed_legs,
        wrong_names_of_legs,
        beyond_reckoning,
        shared_outlets,
        open_ends,
        same_anchors,
    )
}
