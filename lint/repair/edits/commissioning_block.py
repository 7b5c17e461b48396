"""A commissioning list as YAML text, and the splice that puts it into a rig's file."""

from collections.abc import Sequence

from lineshaft.repair.edits.entry_text import behind, comma_behind, is_flow, keys_at
from lineshaft.repair.edits.splice import Splice, in_line_ends_of
from lineshaft.schema.model.rig import Part
from lineshaft.schema.quantities.quantity import litres_text
from lineshaft.schema.text.scalar_text import scalar_text
from lineshaft.schema.text.tree import Tree
from lineshaft.solve.safe_list import ListedStep


def entry(step: ListedStep, parts: tuple[Part, ...]) -> str:
    """One step as a flow mapping's inside: `set: {part: step, to: increase}`, `start: wheel`."""
    name = scalar_text(parts[step.part].name)
    if step.kind == "set":
        return f"set: {{part: {name}, to: {step.to}}}"
    if step.kind == "fill":
        return f"fill: {{part: {name}, with: {litres_text(step.amount)}}}"
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
        end = start + len(text[start:end].rstrip("\r\n"))  # a block scalar ends with its line
        return Splice(start, end, in_line_ends_of(tree.source, f"\n{indent}".join(f"- {e}" for e in entries)))
    return added_list(tree, entries)


def added_list(tree: Tree, entries: Sequence[str]) -> Splice:
    """What puts a list behind the last key of a rig that has none."""
    return added_section(tree, "commissioning", [f"- {entry}" for entry in entries], _flow(entries))


def added_section(tree: Tree, key: str, lines: Sequence[str], flow: str) -> Splice:
    """What puts a key behind the last one of a rig that does not have it: its lines, or its value between braces."""
    text = tree.source.text
    start, end = tree.slice(())
    if is_flow(tree, ()):
        # A rig in one flow mapping: before its closing brace, with no second comma where one trails.
        close = text.rindex("}", start, end)
        last = tree.slice((keys_at(tree, ())[-1],))[1]
        comma = "" if comma_behind(text, last) is not None else ", "
        return Splice(close, close, f"{comma}{key}: {flow}")
    block = f"{key}:\n" + "".join(f"  {line}\n" for line in lines)
    first = tree.key_slice((keys_at(tree, ())[0],))[0]
    indent = " " * (tree.source.position(first).column - 1)
    block = "".join(f"{indent}{line}\n" for line in block.splitlines())
    at = behind(text, end, len(indent))
    if not text.endswith("\n") and at == len(text):
        block = "\n" + block
    return Splice(at, at, in_line_ends_of(tree.source, block))


def _flow(entries: Sequence[str]) -> str:
    return "[" + ", ".join(f"{{{e}}}" for e in entries) + "]"
