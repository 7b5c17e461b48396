"""How long an editor waits: `python tests/bench/editing.py [--edits N] [PARTS…]`; nothing is asserted.

A rig is edited (one ratio, near its middle), and the time is taken from the change until findings, hints and a hover of
the changed text are there, with a warm server; then the server's memory before and after many edits.
"""

import argparse
import asyncio
import os
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from editor import PUSHED_TO, Editor, editor
from lsprotocol import types
from rig_maker.maker import make_rig

_RIG = "edited.rig.yaml"
_SEED = 5


def _written(folder: Path, parts: int) -> tuple[str, int]:
    """A generated rig in a folder: its text, and the line of a ratio near its middle."""
    made = make_rig(_SEED, parts)
    (folder / made.catalogue).write_text(made.catalogue_text, "utf-8")
    (folder / _RIG).write_text(made.text, "utf-8")
    lines = made.text.split("\n")
    heads = [number for number, line in enumerate(lines) if line.startswith("  ") and not line.startswith("   ")]
    return made.text, heads[len(heads) // 2]


def _insertion(line: int, text: str) -> types.TextDocumentContentChangePartial:
    place = types.Position(line, 0)
    return types.TextDocumentContentChangePartial(types.Range(place, place), text)


def _deletion(line: int) -> types.TextDocumentContentChangePartial:
    return types.TextDocumentContentChangePartial(types.Range(types.Position(line, 0), types.Position(line + 1, 0)), "")


async def _latencies(one: Editor, line: int, edits: int) -> list[float]:
    found = []
    for number in range(edits + 5):
        began = time.perf_counter()
        one.changes(_RIG, _insertion(line, "# tried\n") if number % 2 == 0 else _deletion(line))
        where = types.Range(types.Position(max(0, line - 40), 0), types.Position(line + 40, 0))
        await asyncio.gather(
            one.client.text_document_diagnostic_async(types.DocumentDiagnosticParams(one.document(_RIG))),
            one.client.text_document_inlay_hint_async(types.InlayHintParams(one.document(_RIG), where)),
            one.client.text_document_hover_async(types.HoverParams(one.document(_RIG), types.Position(line, 3))),
        )
        found.append((time.perf_counter() - began) * 1000)
    return found[5:]


async def _round_trip_while_judging(one: Editor, line: int) -> float:
    """The longest that the loop itself takes for an answer (to an unknown file) while a verdict is under way [ms]."""
    worst = 0.0
    for number in range(20):
        one.changes(_RIG, _insertion(line, "# tried\n") if number % 2 == 0 else _deletion(line))
        waiting = asyncio.ensure_future(one.diagnostics(_RIG))
        await asyncio.sleep(0.01)
        began = time.perf_counter()
        await one.hints("nothing.txt")
        worst = max(worst, (time.perf_counter() - began) * 1000)
        await waiting
    return worst


async def _measured(parts: int, edits: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        _, line = _written(folder, parts)
        async with editor(folder) as one:
            one.open(_RIG)
            await one.diagnostics(_RIG)
            server = one.client._server
            assert server is not None
            before = _busy(server.pid)
            found = sorted(await _latencies(one, line, edits))
            busy = (_busy(server.pid) - before) / len(found) * 1000
            blocked = await _round_trip_while_judging(one, line)
    at = found[min(len(found) - 1, round(0.95 * len(found)))]
    times = f"median {median(found):.0f} ms, 95th percentile {at:.0f} ms"
    times += f" ({busy:.0f} ms of processor an edit)"
    sys.stdout.write(f"{parts} parts: {times}; the loop answers within {blocked:.0f} ms\n")


async def _memory(parts: int, edits: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        _, line = _written(folder, parts)
        async with editor(folder, PUSHED_TO) as one:
            one.open(_RIG)
            server = one.client._server
            assert server is not None
            held = []
            for number in range(edits):
                one.changes(_RIG, _insertion(line, "# tried\n") if number % 2 == 0 else _deletion(line))
                if number % 50 == 49:
                    await one.hints(_RIG)
                if number in (edits // 5, edits - 1):
                    held.append(_resident(server.pid))
    sys.stdout.write(f"{edits} edits of {parts} parts: {held[0] / 2**20:.1f} MiB, then {held[1] / 2**20:.1f} MiB\n")


def _busy(process: int) -> float:
    """The processor time that a process has had [s], where the system tells (Linux): the same on a loaded machine."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _resident(process: int) -> int:
    """The memory of a process [bytes], where the system tells (Linux)."""
    pages = Path(f"/proc/{process}/statm").read_text().split()[1]
    return int(pages) * os.sysconf("SC_PAGE_SIZE")


def main() -> None:
    """Print a line for each size, then one of the memory."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("parts", nargs="*", type=int, default=[10, 100, 1000, 10_000])
    parser.add_argument("--edits", type=int, default=40)
    parser.add_argument("--memory", type=int, default=10_000, help="how many edits memory is looked at over; 0: none")
    given = parser.parse_args()
    for parts in given.parts:
        asyncio.run(_measured(parts, given.edits))
    if given.memory:
        asyncio.run(_memory(100, given.memory))


if __name__ == "__main__":
    main()
