"""Which tests bear on a line: each test is run once under coverage, and mutants meet the quickest of its tests first.

Tests that take long, or whose fixtures do, are left out: a mutant that only they would kill counts as a survivor, so
that the score is a lower bound.
"""

import json
import os
import signal
import time
from collections.abc import Generator, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import coverage
import pytest
from trust.mutants import installed, modules

LONGEST = 1.5  # seconds of a processor that a test may take, under coverage; then it is stopped and left out


class Bearing(NamedTuple):
    """Seconds that each test takes, by its id, and the tests that run through each line of each module."""

    seconds: Mapping[str, float]
    lines: Mapping[str, Mapping[int, Sequence[str]]]

    def on(self, module: str, line: int) -> list[str]:
        """The tests that bear on a line, the quickest first; for a line that none is seen on, those on its module."""
        by_line = self.lines.get(module, {})
        found = set(by_line.get(line, ())) or {test for tests in by_line.values() for test in tests}
        return sorted(found, key=lambda test: (self.seconds[test], test))


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
        began = time.process_time()
        yield
        if fixturedef.scope != "function" and time.process_time() - began > LONGEST / 3:
            self.slow_fixtures.add(fixturedef.argname)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """A test that fails without a mutant kills none."""
        if report.outcome != "passed":
            self.failed.add(report.nodeid)

    def map(self, items: Sequence[pytest.Item]) -> None:
        """Run the tests."""
        signal.signal(signal.SIGPROF, lambda *_: pytest.fail("takes too long to be asked of every mutant"))
        self.coverage.start()
        for number, item in enumerate(items):
            self.coverage.switch_context(item.nodeid)
            following = items[number + 1] if number + 1 < len(items) else None
            began = time.process_time()
            signal.setitimer(signal.ITIMER_PROF, LONGEST)
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            signal.setitimer(signal.ITIMER_PROF, 0)
            self.seconds[item.nodeid] = time.process_time() - began
        self.coverage.stop()

    def bearing(self, items: Sequence[pytest.Item]) -> Bearing:
        """What was seen of the tests that are quick and pass."""
        quick = {
            item.nodeid: self.seconds[item.nodeid]
            for item in items
            if self.seconds[item.nodeid] <= LONGEST
            and item.nodeid not in self.failed
            and not self.slow_fixtures & set(getattr(item, "fixturenames", ()))
        }
        data = self.coverage.get_data()
        lines = {}
        for module in modules():
            contexts = data.contexts_by_lineno(str(installed(module)))
            lines[module] = {line: [test for test in tests if test in quick] for line, tests in contexts.items()}
        return Bearing(quick, lines)


def mapped(items: Sequence[pytest.Item], file: Path) -> Bearing:
    """The map in a file, made anew in a process of its own where there is none: the tests leave nothing behind here."""
    if not file.is_file():
        child = os.fork()
        if child == 0:
            mapper = Mapper()
            items[0].config.pluginmanager.register(mapper)
            mapper.map(items)
            file.write_text(json.dumps(_numbered(mapper.bearing(items))), "utf-8")
            os._exit(0)
        os.waitpid(child, 0)
    seconds, lines = json.loads(file.read_text("utf-8"))
    names = list(seconds)
    by_module = {
        module: {int(line): [names[number] for number in numbers] for line, numbers in of_module.items()}
        for module, of_module in lines.items()
    }
    return Bearing(seconds, by_module)


def _numbered(bearing: Bearing) -> object:
    """The map with its tests by number, which is a twentieth of it with their names."""
    number = {test: n for n, test in enumerate(bearing.seconds)}
    lines = {
        module: {line: [number[test] for test in tests] for line, tests in of_module.items()}
        for module, of_module in bearing.lines.items()
    }
    return bearing.seconds, lines
