"""Figures behind what is written: a part's torque, speed and share of its limit; how long a circuit lasts.

They are those of the text that is open. Where it cannot be solved there are none, rather than old ones.
"""

from collections.abc import Callable, Iterator
from functools import partial

from lsprotocol import types

from lineshaft.api import Route, SolvedRig, accounts
from lineshaft.language_server.figures import hint_words, loads, parts_written_in, percent
from lineshaft.language_server.judgements import Judged
from lineshaft.language_server.server import RigServer
from lineshaft.schema.model.rig import NOTHING_PLACED
from lineshaft.schema.text.tree import Tree
from lineshaft.write.shown_units import Units, duration


def register(server: RigServer) -> None:
    """Answer requests for hints."""

    @server.feature(types.TEXT_DOCUMENT_INLAY_HINT, types.InlayHintOptions(resolve_provider=False))
    async def inlay_hint(params: types.InlayHintParams) -> list[types.InlayHint]:
        judged = await server.judged(params.text_document.uri)
        if judged is None or judged.judgement.inspected is None:
            return []
        content = judged.document.content
        start, end = content.index(params.range.start), content.index(params.range.end)
        return [
            types.InlayHint(content.position(at + content.start), said(), padding_left=True)
            for at, said in _hints(judged, server.units)
            if start <= at + content.start <= end
        ]


def _hints(judged: Judged, units: Units) -> Iterator[tuple[int, Callable[[], str]]]:
    """Where hints stand (characters of the file's text), and what they say, put into words for those that are shown."""
    inspected = judged.judgement.inspected
    rig = None if inspected is None else inspected.rig
    tree = None if inspected is None else inspected.loaded.tree
    if rig is None or tree is None or not rig.parts:
        return
    for number, part in parts_written_in(rig, judged.judgement.file):
        yield _behind(tree, part.route), partial(hint_words, rig, number, units)
    for name, said in _placed(rig) if rig.rig.placed is not NOTHING_PLACED else ():
        yield _behind(tree, ("parts", name)), partial(str, said)
    for account in accounts(rig):
        if account.circuit is not None:
            dry = account.runs_dry_after
            said = "does not run dry" if dry is None else f"runs dry after {duration(dry)}"
            yield _behind(tree, rig.rig.circuits[account.circuit].route), partial(str, said)


def _placed(rig: SolvedRig) -> Iterator[tuple[str, str]]:
    """Of each placed blueprint the part in it that is nearest to a limit."""
    worst: dict[str, tuple[float, str]] = {}
    for number, part in enumerate(rig.parts):
        found = loads(rig, number) if part.uses and rig.flows.solved[number] else []
        if found:
            line = str(part.uses[0].route[1])
            worst[line] = max(worst.get(line, (0.0, "")), (found[0].share, part.name.removeprefix(f"{line}/")))
    for line, (share, name) in worst.items():
        yield line, f"at most {percent(share)} ({name})"


def _behind(tree: Tree, route: Route) -> int:
    """The character behind an entry, or behind its first line where it goes over several."""
    start, end = tree.slice(route)
    _, key_end = tree.key_slice(route)
    line_end = tree.source.text.find("\n", key_end)
    first = len(tree.source.text) if line_end < 0 else line_end
    if start < first and end <= first:
        return end
    return len(tree.source.text[:first].rstrip("\r "))
