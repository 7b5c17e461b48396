"""What one points at: a part with all that is computed of it."""

from lsprotocol import types

from lineshaft.api import SolvedRig, power, speed, torque
from lineshaft.language_server.figures import loads, percent, rate_words
from lineshaft.language_server.mentions import Mention, mention_at
from lineshaft.language_server.server import RigServer
from lineshaft.report_model.drawn_state import declared_state
from lineshaft.report_model.schematic import does
from lineshaft.write.markdown import code
from lineshaft.write.shown_units import Units, measure, words


def register(server: RigServer) -> None:
    """Answer requests for what is under the pointer."""

    @server.feature(types.TEXT_DOCUMENT_HOVER)
    async def hover(params: types.HoverParams) -> types.Hover | None:
        judged = await server.judged(params.text_document.uri)
        if judged is None:
            return None
        inspected = judged.judgement.inspected
        tree = None if inspected is None else inspected.loaded.tree
        if inspected is None or tree is None:
            return None
        content = judged.document.content
        mention = mention_at(tree, judged.document.kind, content.index(params.position) - content.start)
        said = None if mention is None else _said(inspected.rig, mention, server.units)
        if mention is None or said is None:
            return None
        shown = content.range(mention.start + content.start, mention.end + content.start)
        return types.Hover(types.MarkupContent(types.MarkupKind.Markdown, said), shown)


def _said(rig: SolvedRig, mention: Mention, units: Units) -> str | None:
    if mention.kind == "part" or mention.kind == "outlet":
        name = "/".join((*mention.path, mention.owner or mention.name))
        number = rig.rig.index.get(name)
        return None if number is None else part_words(rig, number, units)
    return None


def part_words(rig: SolvedRig, number: int, units: Units) -> str:
    """A part in Markdown: what it does, what arrives and leaves, each limit with the share of it, its chain."""
    part, flows = rig.parts[number], rig.flows
    head = f"**{code(part.name)}** {code(part.item.name)}: {code(words(does(rig, number, declared_state(rig))))}"
    if not flows.solved[number]:
        return f"{head}\n\nnot solved"
    rows = []
    if part.inlets:
        at = (torque(flows.torque_in[number]), speed(flows.speed_in[number]))
        rows.append(("in", *at, power(flows.torque_in[number] * flows.speed_in[number])))
    if part.item.kind != "driven-machine":
        at = (torque(flows.torque_out[number]), speed(flows.speed_out[number]))
        rows.append(("out", *at, power(flows.passed[number] * flows.speed_out[number])))
    lines = ["| | torque | speed | power |", "| --- | --- | --- | --- |"]
    lines += [f"| {name} | {' | '.join(measure(value, units) for value in values)} |" for name, *values in rows]
    limits = [
        f"- {load.of} limit {measure(load.limit, units)}: carries {measure(load.carried, units)}, {percent(load.share)}"
        for load in loads(rig, number)
    ]
    made = rate_words(rig, number)
    chain = " → ".join(code(rig.parts[each].name) for each in rig.chain(number))
    blocks = [head, "\n".join(lines), "\n".join(limits), code(made) if made else "", chain]
    return "\n\n".join(block for block in blocks if block)
