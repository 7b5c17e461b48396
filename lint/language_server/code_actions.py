"""What may be done at a place: proved repairs, waivers, and for the whole file its settings and its start-up.

In a blueprint's file that is what mends the blueprint in all that uses it, and what mends in an open rig that places it
what is found on that rig.
"""

import math
from collections.abc import Iterable, Iterator, Sized
from datetime import timedelta
from typing import Final, NamedTuple

from lsprotocol import types

from lineshaft.api import (
    Edit,
    JudgedFinding,
    RepairedFinding,
    bound_value,
    safe_start_up,
    with_settings_mended,
)
from lineshaft.check.judged_finding import Repair
from lineshaft.check.open_file_repairs import Users
from lineshaft.documentation import schema_line
from lineshaft.language_server.diagnostics import diagnostic_of, found_by_others, others_open, span_in
from lineshaft.language_server.judgements import Judged
from lineshaft.language_server.repair_search import RepairSearch
from lineshaft.language_server.server import Places, RigServer
from lineshaft.repair.edits.commissioning_block import added_section
from lineshaft.schema.model.rig import UNWAIVABLE
from lineshaft.schema.text.scalar_text import scalar_text
from lineshaft.schema.text.tree import Tree
from lineshaft.write.escape import visible
from lineshaft.write.finding_words import costs
from lineshaft.write.shown_units import figures, rates

MOST_FINDINGS: Final = 6
"""At one place: findings for which repairs are searched."""
WAIVED_FOR: Final = timedelta(days=90)
FIX_ALL: Final = "source.fixAll.lineshaft"
START_UP: Final = "source.startUp.lineshaft"
SCHEMA_LINE: Final = "source.schemaLine.lineshaft"
_MACHINES: Final = 2


def register(server: RigServer) -> None:
    """Answer requests for what may be done."""
    search = RepairSearch(server)
    kinds = [types.CodeActionKind.QuickFix, FIX_ALL, START_UP, SCHEMA_LINE]

    @server.feature(types.TEXT_DOCUMENT_CODE_ACTION, types.CodeActionOptions(kinds, resolve_provider=True))
    async def code_action(params: types.CodeActionParams) -> list[types.CodeAction]:
        judged = await server.judged(params.text_document.uri)
        if judged is None or judged.judgement.resolved is None:
            return []
        only = params.context.only
        actions: list[types.CodeAction] = []
        if _wanted(types.CodeActionKind.QuickFix, only):
            actions += await _quick_fixes(server, search, judged, params.range)
        actions += [action for action in _for_file(judged) if _wanted(str(action.kind), only)]
        return actions if server.is_open(judged) else []

    @server.feature(types.CODE_ACTION_RESOLVE)
    async def resolve(action: types.CodeAction) -> types.CodeAction:
        data = action.data if isinstance(action.data, dict) else {}
        judged = await server.judged(str(data.get("uri", "")))
        if judged is None or action.edit is not None:
            return action
        users = await search.users(judged)
        if users is None or isinstance(users, str):
            return action
        edit = await search.beside(judged, lambda: _for_whole_file(judged, str(data.get("what")), users))
        if edit is not None:
            uri, content = judged.document.uri, judged.document.content
            action.edit = server.workspace_edit({uri: [types.TextEdit(content.range_of(edit.span), edit.text)]})
        return action


def _wanted(kind: str, only: Iterable[str] | None) -> bool:
    return only is None or any(kind == wanted or kind.startswith(f"{wanted}.") or wanted == "" for wanted in only)


async def _quick_fixes(
    server: RigServer, search: RepairSearch, judged: Judged, where: types.Range
) -> list[types.CodeAction]:
    """What mends the findings at a range, and what waives them."""
    at = _Range(judged, where)
    findings = [f for f in judged.judgement.findings if at.has(f)][:MOST_FINDINGS]
    places = server.places(judged)
    users = await search.users(judged) if findings else ()
    actions: list[types.CodeAction] = []
    for made in await search.repaired(judged, findings):
        actions += _fixes(server, judged, made, places, users or ())
    actions += await _fixes_of_others(server, search, judged, at, MOST_FINDINGS - len(findings))
    return actions + [action for finding in findings for action in _waiver(server, judged, finding, places)]


class _Range(NamedTuple):
    """A range of a document that the client asks about."""

    judged: Judged
    asked: types.Range

    def has(self, finding: JudgedFinding) -> bool:
        """Whether a finding counts and is shown there."""
        content, span = self.judged.document.content, span_in(self.judged, finding)
        if finding.passes:
            return False
        start, end = content.index(self.asked.start), content.index(self.asked.end)
        return content.index_of(span.start) <= end and start <= content.index_of(span.end)


def _fixes(
    server: RigServer, judged: Judged, made: RepairedFinding, places: Places, users: Sized
) -> Iterator[types.CodeAction]:
    """A quick fix for each proved repair; where there is none the reason, for clients that show it."""
    shown = diagnostic_of(judged, made, places, server.units)
    for number, repair in enumerate(made.repairs):
        yield types.CodeAction(
            title_of(repair) if judged.document.kind == "rig" else _title_in_blueprint(repair, len(users)),
            types.CodeActionKind.QuickFix,
            [shown],
            is_preferred=number == 0 and repair.safe,
            edit=edit_of(server, repair, places),
        )
    if not made.repairs and made.no_repair and server.shows_disabled():
        reason = types.CodeActionDisabled(visible(made.no_repair))
        yield types.CodeAction("no proved repair", types.CodeActionKind.QuickFix, [shown], disabled=reason)


async def _fixes_of_others(
    server: RigServer, search: RepairSearch, judged: Judged, at: _Range, most: int
) -> list[types.CodeAction]:
    """What mends, in the open rigs that place this blueprint, what is found on them here; each change once."""
    found = found_by_others(judged, await others_open(server, judged))
    theirs = [(other, finding) for other, finding in found if at.has(finding)][:most]
    places, actions = server.places(judged), {}
    for other, finding in theirs:
        for made in await search.repaired(other, [finding]):
            for repair in made.repairs:
                title = f"in {visible(other.judgement.file)}: {title_of(repair)}"
                shown = [diagnostic_of(judged, finding, places, server.units)]
                change = edit_of(server, repair, places)
                actions[repair.edits] = types.CodeAction(title, types.CodeActionKind.QuickFix, shown, edit=change)
    return list(actions.values())


def edit_of(server: RigServer, repair: Repair, places: Places) -> types.WorkspaceEdit:
    """A repair's edits, as the client makes them."""
    edits: dict[str, list[types.TextEdit]] = {}
    for edit in repair.edits:
        place = places.location(edit.file, edit.span)
        edits.setdefault(place.uri, []).append(types.TextEdit(place.range, edit.text))
    return server.workspace_edit(edits)


def title_of(repair: Repair) -> str:
    """What a repair does, how far it reaches, what it costs and what it makes of machines."""
    machines = [rates(change) for change in repair.machines[:_MACHINES]]
    return visible(f"{repair.title} ({'; '.join([repair.effect, costs(repair.worth), *machines])})")


def _title_in_blueprint(repair: Repair, users: int) -> str:
    """The same of a blueprint's: what it costs each time that it is placed, and in how many files it was proved."""
    proved = f"proved in what uses it: {users} file{'' if users == 1 else 's'}" if users else "nothing uses it"
    return visible(f"{repair.title} ({repair.effect}; {costs(repair.worth)} a use; {proved})")


def _waiver(
    server: RigServer, judged: Judged, finding: JudgedFinding, places: Places
) -> Iterator[types.CodeAction]:
    """A waiver of a finding, for somebody to give the reason: as long as it has none it waives nothing."""
    found, day = judged.judgement.inspected, judged.judgement.day
    tree = None if found is None else found.loaded.tree
    kind, (file, part) = judged.document.kind, finding.home
    if tree is None or day is None or file != judged.judgement.file or kind != "rig" or finding.rule in UNWAIVABLE:
        return
    until = (day + WAIVED_FOR).isoformat()
    row = [f"rule: {finding.rule}", *([f"part: {scalar_text(part)}"] if part is not None else [])]
    value = bound_value(finding)
    if value is not None:
        row.append(f"up-to: {_bound(value, rises=finding.rule != 'margin-thin')}")
    entry = "{" + ", ".join([*row, 'reason: ""', f"until: {until}"]) + "}"
    edit = _waiver_edit(tree, entry)
    if edit is None:
        return
    content = judged.document.content
    where = content.range(edit[0] + content.start, edit[1] + content.start)
    title = visible(f"waive {finding.rule}{f' of {part}' if part else ''} until {until}: write the reason")
    shown = [diagnostic_of(judged, finding, places, server.units)]
    change = server.workspace_edit({judged.document.uri: [types.TextEdit(where, edit[2])]})
    yield types.CodeAction(title, types.CodeActionKind.QuickFix, shown, edit=change)


def _bound(value: float, *, rises: bool) -> str:
    """A value that covers a finding and hardly more: four figures, towards what is worse."""
    scale = 10 ** (3 - math.floor(math.log10(abs(value)))) if value else 1.0
    return figures((math.ceil if rises else math.floor)(value * scale) / scale).replace(",", "")


def _waiver_edit(tree: Tree, entry: str) -> tuple[int, int, str] | None:
    """Where a waiver goes and its text: behind the last one, or in a section of its own; none in a list in brackets."""
    held = tree.at(("waivers",))
    if not isinstance(held, list):
        splice = added_section(tree, "waivers", [f"- {entry}"], f"[{entry}]")
        return splice.start, splice.end, splice.text
    start, end = tree.slice(("waivers",))
    text = tree.source.text
    if not held or text[start] != "-":
        return None
    column = tree.source.position(start).column - 1
    end = start + len(text[start:end].rstrip())
    line_end = text.find("\n", end)
    at = len(text) if line_end < 0 else line_end
    ending = "\r\n" if "\r\n" in text else "\n"
    at -= text[at - 1 : at] == "\r"
    return at, at, f"{ending}{' ' * column}- {entry}"


def _for_file(judged: Judged) -> Iterator[types.CodeAction]:
    """What may be done for the whole file; what it changes is worked out once somebody wants it."""
    uri, kind = judged.document.uri, judged.document.kind
    found = judged.judgement.inspected
    if kind in ("rig", "blueprint") and found is not None and found.rig.parts:
        title = "mend all settings and misspelt names"
        yield types.CodeAction(title, FIX_ALL, data={"uri": uri, "what": FIX_ALL})
    if kind == "rig" and found is not None and found.rig.parts:
        title = "write a safe start-up list"
        if found.rig.rig.has_commissioning:
            title = "put a safe start-up list in the place of this one"
        yield types.CodeAction(title, START_UP, data={"uri": uri, "what": START_UP})
    if schema_line(kind) and "yaml-language-server" not in judged.document.content.text:
        title = "write the line by which editors find the schema"
        yield types.CodeAction(title, SCHEMA_LINE, data={"uri": uri, "what": SCHEMA_LINE})


def _for_whole_file(judged: Judged, what: str, users: Users) -> Edit | None:
    """The edit that such an action makes; none where there is nothing to do."""
    judgement, found = judged.judgement, judged.judgement.inspected
    if what == START_UP:
        return safe_start_up(judgement)
    if found is None or found.loaded.tree is None:
        return None
    source = found.loaded.tree.source
    if what == SCHEMA_LINE:
        return Edit(judgement.file, source.span(0, 0), schema_line(judged.document.kind))
    text = with_settings_mended(judgement, users) if what == FIX_ALL else None
    return None if text is None else _smallest(judgement.file, judged, text)


def _smallest(file: str, judged: Judged, text: str) -> Edit | None:
    """The edit that makes another text of a file, without what both have at their begin and end."""
    found = judged.judgement.inspected
    assert found is not None and found.loaded.tree is not None
    source = found.loaded.tree.source
    was, first = source.text, 0
    most = min(len(was), len(text))
    while first < most and was[first] == text[first]:
        first += 1
    last = 0
    while last < most - first and was[len(was) - 1 - last] == text[len(text) - 1 - last]:
        last += 1
    return Edit(file, source.span(first, len(was) - last), text[first : len(text) - last])
