"""What one points at: a part with all that is computed of it; an item, a quantity, a ratio, a rule, a blueprint."""

from lsprotocol import types

from lineshaft.api import Judgement, SolvedRig, power, speed, torque
from lineshaft.language_server.figures import loads, percent, rate_words
from lineshaft.language_server.hover_words import blueprint_words, item_words, quantity_words, ratio_words, rule_words
from lineshaft.language_server.judgements import Judged
from lineshaft.language_server.mentions import Mention
from lineshaft.language_server.names import Names, Symbol
from lineshaft.language_server.server import RigServer
from lineshaft.report_model.drawn_state import declared_state
from lineshaft.report_model.schematic import does
from lineshaft.schema.loading import kind_of
from lineshaft.write.markdown import code
from lineshaft.write.shown_units import Units, measure, words


def register(server: RigServer) -> None:
    """Answer requests for what is under the pointer."""

    @server.feature(types.TEXT_DOCUMENT_HOVER)
    async def hover(params: types.HoverParams) -> types.Hover | None:
        judged = await server.judged(params.text_document.uri)
        if judged is None:
            return None
        document, judgement, texts = judged.document, judged.judgement, server.documents.texts()
        if judgement.resolved is None:
            return None
        content, units = document.content, server.units
        index = content.index(params.position) - content.start
        found = await server.judgements.work(lambda: _seen(Names(judgement, texts), judged, index, units))
        if found is None:
            return None
        said, start, end = found
        shown = content.range(start + content.start, end + content.start)
        return types.Hover(types.MarkupContent(types.MarkupKind.Markdown, said), shown)


def _seen(names: Names, judged: Judged, index: int, units: Units) -> tuple[str, int, int] | None:
    """What is said of what stands at a character, and from where to where it stands."""
    path, judgement = judged.document.path, judged.judgement
    inspected = judgement.inspected
    found = names.symbol_at(path, index)
    if found is not None:
        symbol, mention = found
        said = None
        if mention.kind in ("part", "outlet") and inspected is not None:
            said = _of_part(inspected.rig, mention, units)
        said = said or _of_symbol(names, judgement, symbol, units)
        if said is not None:
            return said, mention.start, mention.end
    tree = names.tree(path)
    if tree is None:
        return None
    route, on_key = tree.route_at(index)
    key = str(route[-1]) if route else ""
    said = None if on_key else ratio_words(tree.at(route)) if key == "ratio" else quantity_words(key, tree.at(route))
    return None if said is None else (said, *tree.slice(route))


def _of_part(rig: SolvedRig, mention: Mention, units: Units) -> str | None:
    number = rig.rig.index.get("/".join((*mention.path, mention.owner or mention.name)))
    return None if number is None else part_words(rig, number, units)


def _of_symbol(names: Names, judgement: Judgement, symbol: Symbol, units: Units) -> str | None:
    """What is said of an item, a rule, a blueprint (at its file, where it is placed, and at its outlets)."""
    if symbol.kind == "rule":
        return rule_words(symbol.name)
    if symbol.kind == "item":
        catalogue = names.loader.catalogue(symbol.file)[0]
        item = None if catalogue is None else catalogue.items.get(symbol.name)
        return None if catalogue is None or item is None else item_words(catalogue, item, units)
    placed = names.placed_in(symbol) if symbol.kind == "part" else names.tree(symbol.file)
    if placed is not None and kind_of(placed.source.path) == "blueprint" and symbol.kind in ("file", "part", "exit"):
        return blueprint_words(placed, units)
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
