"""One input of the campaign: a mutated works through commands in this process, within bounds, and what went wrong."""

import contextlib
import io
import json
import os
import re
import resource
import shutil
import signal
import sys
import traceback
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from pathlib import Path
from random import Random
from types import FrameType
from typing import Any, NamedTuple

import jsonschema
from trust.mutations import mutated
from trust.works import works

from lineshaft import cli
from lineshaft.exits import guarded
from lineshaft.schema.validation.schemas import schema_text

MOST_CALLS = 30_000_000  # Python calls of one command; the largest sound input takes about a tenth of that
MOST_SECONDS = 240  # a net under what makes no calls; generous, since the machine may be busy
MOST_MEMORY = 1 << 30  # bytes of address space that the whole campaign may gain

_WRITERS = ("json", "sarif", "junit", "github", "gitlab", "markdown", "html")
_DAY = ("--date", "2026-11-25")


class Trouble(NamedTuple):
    """What an input did that none may do."""

    seed: int
    arguments: tuple[str, ...]
    what: str
    trace: str


class BoundError(BaseException):
    """A command went over its bound. Not an `Exception`, which the guard would turn into a message."""


def try_seed(seed: int, folder: Path, *, count_calls: bool = True) -> list[Trouble]:
    """Write the input of a seed into the folder, run its commands there, and say what went wrong."""
    rng = Random(seed)
    rig, paths = _written(rng, folder)
    found: list[Trouble] = []
    for arguments, kind in _commands(rng, rig, paths, *_parts(rng, folder / rig)):
        trouble = _ran(seed, arguments, kind, folder, count_calls)
        if trouble:
            found.append(trouble)
    return found


def _written(rng: Random, folder: Path) -> tuple[str, list[str]]:
    """The works in the folder, one or two of its files mutated; the rig, and all paths."""
    shutil.rmtree(folder, ignore_errors=True)
    (folder / ".git").mkdir(parents=True)
    texts = works(rng)
    paths = list(texts)
    chosen = {paths[0]} if rng.random() < 0.6 else {rng.choice(paths), rng.choice(paths)}
    for name, text in texts.items():
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        whole = mutated(text, rng) if name in chosen else text
        target.write_bytes(_encoded(whole, rng) if name in chosen else whole.encode("utf-8"))
    return paths[0], paths


def _encoded(text: str, rng: Random) -> bytes:
    """As UTF-8, now and then with a stray byte or in another encoding."""
    way = rng.random()
    if way < 0.96:
        return text.encode("utf-8", "surrogatepass")
    if way < 0.98:
        return text.encode("utf-16", "surrogatepass")
    raw = bytearray(text.encode("utf-8", "surrogatepass"))
    raw.insert(rng.randint(0, len(raw)), rng.choice((0x80, 0xC0, 0xFE, 0xFF)))
    return bytes(raw)


def _commands(rng: Random, rig: str, paths: list[str], mover: str, part: str) -> Iterator[tuple[tuple[str, ...], str]]:
    """What is run on the input, each with the kind of document that it writes to stdout, if any."""
    units = rng.choice(((), ("--units", "rpm")))
    yield ("check", "--no-cache", "--no-repairs", *_DAY, "--write", "json=-", rig), "findings"
    swept = f"{rng.choice((mover, mover, part))}.{rng.choice(_SETTINGS)}"
    others = [path for path in paths if not path.endswith(".rig.yaml")]
    catalogues = [path for path in paths if path.endswith(".catalogue.yaml")] or [rig]
    cheap: list[tuple[tuple[str, ...], str]] = [
        (("check", "--no-cache", "--no-repairs", *_DAY, *units, *_all_writers(rng), "."), ""),
        (("check", "--no-cache", "--no-repairs", "--users", *_DAY, *(others or [rig])), ""),
        (("trace", rig, *units), ""),
        (("trace", rig, part, "--lubricant"), ""),
        (("commission", rig, *units), ""),
        (("commission", rig, "--apply"), ""),
        (("bom", rig, "--write", "json=-"), "bill"),
        (("bom", rig, "--write", "csv=-"), ""),
        (("draw", rig, *units, *_DAY), ""),
        (("draw", rig, "-o", "out.svg"), ""),
        (("sweep", rig, "--over", swept, "--steps", "2", "--write", "json=-"), "sweep"),
        (("sweep", rig, "--over", swept, "--steps", "3", "--write", "svg=-", "--write", "csv=out.csv"), ""),
        (("impact", catalogues[0], rng.choice(catalogues), rig, *_DAY, "--write", "json=-"), "impact"),
        (("snags", "record", rig, "-o", "-", *_DAY), ""),
        (("snags", "record", rig, "-o", "new.snags.yaml", *_DAY), ""),
        (("snags", "show", next((path for path in paths if path.endswith(".snags.yaml")), rig)), ""),
        (("check", "--no-cache", "--no-repairs", *_snags(paths), *_DAY, "."), ""),
        (("explain", rng.choice(("torque-over-limit", "loose-end", "nothing", "../x"))), ""),
        (("schema", rng.choice(("rig", "findings", "nothing"))), ""),
    ]
    dear: list[tuple[tuple[str, ...], str]] = [
        (("check", "--no-cache", *_DAY, "--write", "json=-", rig), "findings"),
        (("check", "--no-cache", *_DAY, "--write", "html=-", rig), ""),
        (("repair", rig, *_DAY), ""),
        (("repair", rig, "--apply", rng.choice(("best", "1")), *rng.choice(((), ("--diff",))), *_DAY), ""),
        (("size", rig, part, "--stages", "2", "--write", "json=-"), "size"),
        (("audit", rig, "--write", "json=-", *units), "audit"),
        (("audit", rig, "--apply", "1", "--diff"), ""),
    ]
    yield from rng.sample(cheap, 2)
    if rng.random() < 0.05:
        yield rng.choice(dear)


def _parts(rng: Random, rig: Path) -> tuple[str, str]:
    """The first name in the rig, mostly a prime mover's, and another, mostly the first or the last one."""
    names = re.findall(rb"^ {2}([A-Za-z0-9_-]{1,64}):", rig.read_bytes(), re.MULTILINE)
    if not names or rng.random() < 0.1:
        return "wheel", rng.choice(("wheel", "leg-a/step", "..", ""))
    at = rng.choice((0, 0, len(names) - 1, rng.randrange(len(names))))
    return names[0].decode("ascii"), names[at].decode("ascii")


_SETTINGS = ("head=2m..5m", "torque=100N*m..1kN*m", "torque=1N*m..9kN*m", "speed=2rad/s..9rad/s", "saw=1..3", "x=..")


def _all_writers(rng: Random) -> tuple[str, ...]:
    return tuple(word for name in rng.sample(_WRITERS, 3) for word in ("--write", f"{name}=out.{name}"))


def _snags(paths: list[str]) -> tuple[str, ...]:
    found = [path for path in paths if path.endswith(".snags.yaml")]
    return ("--snags", found[0]) if found else ()


def _ran(seed: int, arguments: tuple[str, ...], kind: str, folder: Path, count_calls: bool) -> Trouble | None:
    code, out, err, fault = _bounded(arguments, folder, count_calls)
    what = fault
    if not what and code not in (0, 1, 2):
        what = f"exit code {code}"
    if not what and ("internal error" in err or "Traceback" in err):
        what = err.strip().splitlines()[-1][:200]
    if not what and ("rule-crashed" in out or "internal error" in out):
        what = "a rule or a file ended in an internal error"
    if not what and kind and code in (0, 1) and out.strip():
        what = _unfit(kind, out)
    return Trouble(seed, arguments, what, _trace(arguments, folder)) if what else None


def _bounded(arguments: tuple[str, ...], folder: Path, count_calls: bool) -> tuple[int, str, str, str]:
    """Exit code, stdout, stderr, and the bound that was broken or what came through the guard."""
    calls = 0

    def counted(frame: FrameType, event: str, _: Any) -> None:
        nonlocal calls
        if event == "call":
            calls += 1
            if calls > MOST_CALLS:
                raise BoundError(f"more than {MOST_CALLS:,} calls")

    def late(number: int, frame: FrameType | None) -> None:
        raise BoundError(f"more than {MOST_SECONDS} s")

    out, err = (io.TextIOWrapper(io.BytesIO(), "utf-8", write_through=True) for _ in range(2))
    before, was = signal.signal(signal.SIGALRM, late), Path.cwd()
    code, fault = -1, ""
    os.chdir(folder)
    signal.alarm(MOST_SECONDS)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            if count_calls:
                sys.setprofile(counted)
            code = cli.run(list(arguments))
    except (Exception, BoundError, SystemExit) as error:
        fault = f"{type(error).__name__}: {error}"
    finally:
        if count_calls:
            sys.setprofile(None)
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)
        os.chdir(was)
    return code, _text(out), _text(err), fault


def _text(stream: io.TextIOWrapper) -> str:
    stream.flush()
    raw = stream.buffer
    return raw.getvalue().decode("utf-8", "replace") if isinstance(raw, io.BytesIO) else ""


def _unfit(kind: str, text: str) -> str:
    """Why the document is not JSON of its published schema; empty where it is."""
    try:
        document = json.loads(text, parse_constant=lambda name: _refused(name))
    except ValueError as error:
        return f"no JSON: {error}"
    wrong = next(iter(_errors_by(kind)(document)), None)
    return "" if wrong is None else f"not by its schema: {wrong.message[:200]}"


@cache
def _errors_by(kind: str) -> Callable[[object], Iterable[Any]]:
    """``iter_errors`` of the faster validator that is installed."""
    schema = json.loads(schema_text(kind))
    try:
        import jsonschema_rs
    except ImportError:
        return jsonschema.Draft202012Validator(schema).iter_errors
    return jsonschema_rs.validator_for(schema).iter_errors


def _refused(name: str) -> None:
    raise ValueError(f"{name} is no JSON")


def _trace(arguments: tuple[str, ...], folder: Path) -> str:
    """The traceback of an internal error, from the same command without the guard; the files are still there."""
    was, kept = Path.cwd(), cli.guarded
    os.chdir(folder)
    cli.guarded = lambda job, debug: guarded(job, debug=True)
    try:
        sink = io.TextIOWrapper(io.BytesIO(), "utf-8")
        with contextlib.redirect_stdout(sink), contextlib.redirect_stderr(sink):
            cli.run(list(arguments))
    except Exception:
        return traceback.format_exc()
    finally:
        cli.guarded = kept
        os.chdir(was)
    return ""


def bound_memory() -> None:
    """No input may make this process grow by more than the bound: then an allocation fails, and that is told."""
    taken = int(Path("/proc/self/statm").read_text("ascii").split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (taken + MOST_MEMORY, resource.getrlimit(resource.RLIMIT_AS)[1]))
