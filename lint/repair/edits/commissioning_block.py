"""A commissioning list as YAML text, and the splice that puts it into a rig's file."""

from collections.abc import Sequence

from lineshaft.repair.edits.parts import name_text
from lineshaft.repair.edits.splice import Splice, in_line_ends_of
from lineshaft.schema.model.rig import Part
from lineshaft.schema.text.tree import Tree
from lineshaft.solve.safe_list import ListedStep


def entry(step: ListedStep, parts: tuple[Part, ...]) -> str:
    """One step as a flow mapping's inside: `set: {part: step, to: increase}`, `start: wheel`."""
    name = name_text(parts[step.part].name)
    if step.kind == "set":
        return f"set: {{part: {name}, to: {step.to}}}"
    if step.kind == "fill":
        return f"fill: {{part: {name}, with: {_amount(step.amount)} L}}"
    return f"{step.kind}: {name}"


def block_splice(tree: Tree, steps: Sequence[ListedStep], parts: tuple[Part, ...]) -> Splice:
    """What puts the list into the rig's file: in place of the one it has, or behind its last key."""
    entries = [entry(step, parts) for step in steps]
    data = tree.data
    assert isinstance(data, dict)
    text = tree.source.text
    if "commissioning" in data:
        start, end = tree.slice(("commissioning",))
        if text[start] in "[&*!" or text[start] != "-":
            return Splice(start, end, _flow(entries))
        indent = " " * (tree.source.position(start).column - 1)
        return Splice(start, end, in_line_ends_of(tree.source, f"\n{indent}".join(f"- {e}" for e in entries)))
    return added_list(tree, entries)


def added_list(tree: Tree, entries: Sequence[str]) -> Splice:
    """What puts a list behind the last key of a rig that has none."""
    text = tree.source.text
    start, end = tree.slice(())
    if text[start : start + 1] == "{":
        # A rig in one flow mapping: before its closing brace, with no second comma where one trails.
        close = end - 1
        comma = "" if text[:close].rstrip().endswith(",") else ","
        return Splice(close, close, f"{comma} commissioning: {_flow(entries)}")
    line_end = text.find("\n", end)
    block = "commissioning:\n" + "".join(f"  - {e}\n" for e in entries)
    indent = " " * (tree.source.position(start).column - 1)
    block = "".join(f"{indent}{line}\n" for line in block.splitlines())
    if line_end < 0:
        return Splice(len(text), len(text), in_line_ends_of(tree.source, "\n" + block))
    return Splice(line_end + 1, line_end + 1, in_line_ends_of(tree.source, block))


def _flow(entries: Sequence[str]) -> str:
    return "[" + ", ".join(f"{{{e}}}" for e in entries) + "]"


def _amount(litres: float) -> str:
    return repr(litres).removesuffix(".0")
