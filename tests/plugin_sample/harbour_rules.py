"""A machine has no label.

What: a driven machine without `label`.

Why: whoever stands before it on the day looks for a name, not for a key in a file.

How to repair: write `label:` with the name that is painted on it.

Source: common practice, no source.
"""

from lineshaft.api import NoFix, Rule, report


def check(rig):
    for number, part in enumerate(rig.parts):
        if part.item.kind == "driven-machine" and part.label is None:
            yield report(rig.place(number), part.name, ("has no label",))


def repairs(rig, finding):
    yield NoFix("only somebody on the site knows what it is called")


RULE = Rule("machine-unlabelled", "warning", check, repairs, local=True)
