"""Which tests bear on a line: each test is run once under coverage, and mutants meet the quickest of its tests first.

Tests that take long, or whose fixtures do, are left out: a mutant that only they would kill counts as a survivor, so
that the score is a lower bound.
"""

import ast
import json
import os
import signal
import sys
from collections.abc import Generator, Mapping, Sequence
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import Any, NamedTuple

import coverage
import pytest
from trust.mutants import installed, modules, source

LONGEST = 1.2  # seconds of a processor that a test may take, under coverage; then it is stopped and left out


class Bearing(NamedTuple):
    """Seconds that each test takes, by its id, and the tests that run through each line of each module."""

    seconds: Mapping[str, float]
    lines: Mapping[str, Mapping[int, Sequence[str]]]

    def on(self, module: str, line: int, near: tuple[str, ...]) -> list[str]:
        """The tests that bear on a line: those whose ids begin like one of ``near`` first, then the quickest first.

        For a line that none is seen on, those on its statement; on a statement that runs on import, those on its
        module.
        """
        by_line = self.lines.get(module, {})
        found = set(by_line.get(line, ()))
        if not found:
            first, last = _statement(module, line)
            found = {test for number in range(first, last + 1) for test in by_line.get(number, ())}
        if not found:
            found = {test for tests in by_line.values() for test in tests}
        return sorted(found, key=lambda test: (not test.startswith(near), self.seconds[test], test))


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

    def map(self, items: Sequence[pytest.Item]) -> None:
        """Run the tests, but for those of fixtures that take long."""
        signal.signal(signal.SIGPROF, lambda *_: pytest.fail("takes too long to be asked of every mutant"))
        self.coverage.start()
        for number, item in enumerate(items):
            if self.slow_fixtures & set(getattr(item, "fixturenames", ())):
                continue
            self.coverage.switch_context(item.nodeid)
            following = items[number + 1] if number + 1 < len(items) else None
            began = _used()
            signal.setitimer(signal.ITIMER_PROF, LONGEST)
            try:
                item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            except (Exception, pytest.fail.Exception):  # too long outside of the test itself
                self.failed.add(item.nodeid)
            signal.setitimer(signal.ITIMER_PROF, 0)
            self.seconds[item.nodeid] = _used() - began
        self.coverage.stop()

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


def mapped(items: Sequence[pytest.Item], file: Path) -> Bearing:
    """The map in a file, made anew where there is none: each file's tests in a copy of this process.

    A file whose process ends before its tests do is left out, and told.
    """
    if not file.is_file():
        seconds: dict[str, float] = {}
        lines: dict[str, dict[int, list[str]]] = {}
        slow = set[str]()
        for path, group in groupby(items, key=lambda item: item.path):
            found = _of_file(list(group), slow, file.with_suffix(".part"))
            if found is None:
                sys.__stderr__.write(f"the tests of {path.name} end before their time and are not asked\n")
                continue
            seconds |= found.seconds
            for module, of_module in found.lines.items():
                for line, tests in of_module.items():
                    lines.setdefault(module, {}).setdefault(int(line), []).extend(tests)
        file.write_text(json.dumps(_numbered(Bearing(seconds, lines))), "utf-8")
    seconds, by_number = json.loads(file.read_text("utf-8"))
    names = list(seconds)
    by_module = {
        module: {int(line): [names[number] for number in numbers] for line, numbers in of_module.items()}
        for module, of_module in by_number.items()
    }
    return Bearing(seconds, by_module)


def _of_file(items: Sequence[pytest.Item], slow: set[str], file: Path) -> Bearing | None:
    """What a copy of this process sees of some tests; ``slow`` are fixtures that take long, and grows."""
    child = os.fork()
    if child == 0:
        try:
            mapper = Mapper()
            mapper.slow_fixtures |= slow
            items[0].config.pluginmanager.register(mapper)
            mapper.map(items)
            file.write_text(json.dumps((mapper.bearing(), sorted(mapper.slow_fixtures))), "utf-8")
            os._exit(0)
        finally:
            os._exit(1)
    ended = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    if ended != 0:
        return None
    (seconds, lines), more = json.loads(file.read_text("utf-8"))
    slow.update(more)
    return Bearing(seconds, lines)


def _numbered(bearing: Bearing) -> object:
    """The map with its tests by number, which is a twentieth of it with their names."""
    number = {test: n for n, test in enumerate(bearing.seconds)}
    lines = {
        module: {line: [number[test] for test in tests] for line, tests in of_module.items()}
        for module, of_module in bearing.lines.items()
    }
    return bearing.seconds, lines
