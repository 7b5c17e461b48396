"""One outlet drives two parts with no splitter between.

What: two parts name the same part, or the same outlet of a splitter, in `driven-by`.

Why: an outlet is one shaft end. Only a splitter divides its torque, and only then is it known how much each part gets;
the second part and all below it are not solved.

How to repair: put a splitter behind the outlet and drive each part from an outlet of its own.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding for each part that takes an outlet already taken, in file order."""
    for shared in rig.train.shared:
        second, first = rig.parts[shared.second], rig.parts[shared.first]
        source = rig.parts[shared.source]
        outlet = next(o for s, o in second.inlets if s == shared.source)
        name = f"{source.name}.{source.outlets[outlet]}" if source.outlets else source.name
        file, span, _ = rig.place(shared.first)
        because = (api.Cause(file, span, first.name, (f"is driven by {name} already",)),)
        message = (f"is driven by {name}, which drives {first.name}: one outlet, two parts, no splitter",)
        suggestion = (f"put a splitter behind {name} and give each part an outlet of its own",)
        place = rig.place(shared.second)
        yield api.report(place, second.name, message, (), because, suggestion)


RULE = api.Rule("shared-outlet", "error", check, local=True)
