"""Which tests bear on a line: each test is run once under coverage, and mutants meet the quickest of its tests first.

Tests that take long, or whose fixtures do, are left out: a mutant that only they would kill counts as a survivor, so
that the score is a lower bound.
"""

import ast
import fcntl
import hashlib
import json
import os
import signal
import sys
import tempfile
import time
from collections.abc import Generator, Mapping, Sequence
from functools import cache
from itertools import count, groupby
from pathlib import Path
from typing import Any, NamedTuple

import coverage
import pytest
from trust.mutants import ROOT, installed, modules, source
from trust.process_copy import Copy

_AT_ONCE = 2
_LONGEST_FILE = 400.0  # seconds that the tests of one file may take, whatever else the machine does
LONGEST = 1.2  # seconds of a processor that a test may take, under coverage; then it is stopped and left out


class Bearing(NamedTuple):
    """Seconds that each test takes, by its id, and the tests that run through each line of each module."""

    seconds: Mapping[str, float]
    lines: Mapping[str, Mapping[int, Sequence[str]]]

    def on(self, module: str, line: int, near: tuple[str, ...]) -> list[str]:
        """The tests that bear on a line: those whose ids begin like one of ``near`` first, then the quickest first.

        For a line that none is seen on, those on its statement; on a statement that runs on import, those on its
        module and all that are near, since a test may read a value and run no line of the module.
        """
        by_line = self.lines.get(module, {})
        found = set(by_line.get(line, ()))
        if not found:
            first, last = _statement(module, line)
            found = {test for number in range(first, last + 1) for test in by_line.get(number, ())}
        if not found:
            found = {test for tests in by_line.values() for test in tests}
            found |= {test for test in self.seconds if test.startswith(near)}
        return sorted(found, key=lambda test: (not test.startswith(near), self.seconds[test], test))

    def seen(self, module: str, line: int) -> bool:
        """Whether any test runs through a line's statement; one that runs on import alone is seen by none."""
        first, last = _statement(module, line)
        return any(self.lines.get(module, {}).get(number) for number in range(first, last + 1))


def _statement(module: str, line: int) -> tuple[int, int]:
    """The first and the last line of the smallest statement that a line is in; of one with a body, its head's."""
    return min(((last - first, first, last) for first, last in _statements(module) if first <= line <= last))[1:]


@cache
def _statements(module: str) -> list[tuple[int, int]]:
    tree = ast.parse(source(module))
    spans = [(1, len(source(module).splitlines()))]
    for node in ast.walk(tree):
        if isinstance(node, ast.stmt):
            body = getattr(node, "body", None)
            last = body[0].lineno - 1 if isinstance(body, list) and body else node.end_lineno
            spans.append((node.lineno, max(node.lineno, last or node.lineno)))
    return spans


def _used() -> float:
    """Seconds of a processor that this process and those it waited for have used: what a child does kills no mutant."""
    return sum(os.times()[:4])


class Mapper:
    """A pytest plugin that runs each test under coverage in a context of its own."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}
        self.slow_fixtures: set[str] = set()
        self.failed: set[str] = set()
        self.stopped = False
        files = [str(installed(module)) for module in modules()]
        self.coverage = coverage.Coverage(data_file=None, include=files, config_file=False)

    @pytest.hookimpl(hookwrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Generator[None, None, None]:
        """Note the fixtures that several tests share and that take long."""
        began = _used()
        yield
        if fixturedef.scope != "function" and _used() - began > LONGEST / 3:
            self.slow_fixtures.add(fixturedef.argname)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """A test that fails without a mutant kills none."""
        if report.outcome != "passed":
            self.failed.add(report.nodeid)

    def map(self, items: Sequence[pytest.Item]) -> int:
        """Run the tests, but for those of fixtures that take long; how many.

        The first that is stopped is the last, since a lock that it held is let go by nobody.
        """
        signal.signal(signal.SIGPROF, self._stop)
        self.coverage.start()
        done = 0
        for number, item in enumerate(items):
            if self.stopped:
                break
            done += 1
            if self.slow_fixtures & set(getattr(item, "fixturenames", ())):
                continue
            self.coverage.switch_context(item.nodeid)
            following = items[number + 1] if number + 1 < len(items) else None
            began = _used()
            signal.setitimer(signal.ITIMER_PROF, LONGEST, 0.3)  # again, where that is taken for an example that fails
            try:
                item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            except (Exception, pytest.skip.Exception):  # too long outside of the test itself
                self.failed.add(item.nodeid)
            signal.setitimer(signal.ITIMER_PROF, 0)
            self.seconds[item.nodeid] = _used() - began
        self.coverage.stop()
        return done

    def _stop(self, *_: object) -> None:
        self.stopped = True
        # Skipped, not failed: of a property that fails a smaller example is looked for, which may wait for such a lock.
        pytest.skip("takes too long to be asked of every mutant")

    def bearing(self) -> Bearing:
        """What was seen of the tests that are quick and pass."""
        quick = {
            test: seconds for test, seconds in self.seconds.items() if seconds <= LONGEST and test not in self.failed
        }
        data = self.coverage.get_data()
        lines = {}
        for module in modules():
            contexts = data.contexts_by_lineno(str(installed(module)))
            lines[module] = {line: [test for test in tests if test in quick] for line, tests in contexts.items()}
        return Bearing(quick, lines)


def map_file(tests: Sequence[str]) -> Path:
    """Where the map of these tests and the code, as they are now, is kept for all that ask for it on this machine."""
    state = hashlib.sha256(f"{sys.version} {tests}".encode())
    for place in ("lint", "rules", "schema", "sample_rigs", "tests"):
        for path in sorted((ROOT / place).rglob("*.*")):
            # Not the code of the campaigns: by it no test bears on other lines.
            if path.suffix in (".py", ".yaml", ".json", ".txt") and path.parent.name != "trust" and path.is_file():
                state.update(path.read_bytes())
    return Path(tempfile.gettempdir(), f"lineshaft-tests-{os.getuid()}-{state.hexdigest()[:16]}.json")


def mapped(items: Sequence[pytest.Item], file: Path) -> Bearing:
    """The map in a file, made anew where there is none; who comes meanwhile waits for it."""
    with file.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not file.is_file():
            _make(items, file)
    seconds, by_number = json.loads(file.read_text("utf-8"))
    names = list(seconds)
    by_module = {
        module: {int(line): [names[number] for number in numbers] for line, numbers in of_module.items()}
        for module, of_module in by_number.items()
    }
    return Bearing(seconds, by_module)


def _make(items: Sequence[pytest.Item], file: Path) -> None:
    """Each file's tests in a copy of this process, two at once. One that ends before its tests do is told."""
    seconds: dict[str, float] = {}
    lines: dict[str, dict[int, list[str]]] = {}
    slow, numbers = set[str](), count()
    waiting = [list(group) for _, group in groupby(items, key=lambda item: item.path)][::-1]
    running: list[tuple[list[pytest.Item], Copy, Path]] = []
    while waiting or running:
        while waiting and len(running) < _AT_ONCE:
            group = waiting.pop()
            answer = file.with_suffix(f".{next(numbers)}")
            running.append((group, _mapping(group, frozenset(slow), answer), answer))
        ended = next((one for one in running if one[1].ended is not None), None)
        if ended is None:
            time.sleep(0.01)
            continue
        running.remove(ended)
        group, copy, answer = ended
        if copy.ended != 0:
            sys.__stderr__.write(f"the tests of {group[0].path.name} end before their time and are not asked\n")
            continue
        (some, by_module), more, done = json.loads(answer.read_text("utf-8"))
        if done < len(group):
            waiting.append(group[done:])
        answer.unlink()
        slow.update(more)
        seconds |= some
        for module, of_module in by_module.items():
            for line, tests in of_module.items():
                lines.setdefault(module, {}).setdefault(int(line), []).extend(tests)
    part = file.with_suffix(".part")
    part.write_text(json.dumps(_numbered(Bearing(seconds, lines))), "utf-8")
    part.replace(file)


def _mapping(items: Sequence[pytest.Item], slow: frozenset[str], answer: Path) -> Copy:
    """A copy of this process that writes what it sees of some tests into a file; ``slow`` are known slow fixtures."""
    copy = Copy(_LONGEST_FILE)
    if copy.is_this:
        try:
            mapper = Mapper()
            mapper.slow_fixtures |= slow
            items[0].config.pluginmanager.register(mapper)
            done = mapper.map(items)
            answer.write_text(json.dumps((mapper.bearing(), sorted(mapper.slow_fixtures), done)), "utf-8")
            os._exit(0)
        finally:
            os._exit(1)
    return copy


def _numbered(bearing: Bearing) -> object:
    """The map with its tests by number, which is a twentieth of it with their names."""
    number = {test: n for n, test in enumerate(bearing.seconds)}
    lines = {
        module: {line: [number[test] for test in tests] for line, tests in of_module.items()}
        for module, of_module in bearing.lines.items()
    }
    return bearing.seconds, lines
