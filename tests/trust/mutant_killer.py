"""Mutants against tests: each is put into a copy of this process, in which the tests that bear on its line are run.

What is changed outside of functions runs when its module is imported: it changes values that others took over by name.
What outlives that gets a process of its own, in which the module is the mutant from the beginning.
"""

import gc
import json
import os
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from contextlib import redirect_stdout
from functools import partial
from importlib import import_module
from importlib.machinery import SourceFileLoader
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory
from types import FunctionType

import pytest
from hypothesis import settings
from trust.mutant_code import OutsideFunctionsError, changed_functions, functions_in_memory, put_in, put_in_values
from trust.mutant_tests import Bearing, map_file, mapped
from trust.mutants import ROOT, Mutant, changed_line, identity, installed, modules, mutated_source, name_of, source
from trust.process_copy import Copy

EQUIVALENT = Path(__file__).with_name("equivalent_mutants.txt")
_REPAIRS = (
    *("line_arithmetic", "lines_by_force", "rigs_by_force", "cheapest", "strong_or_side_by_side"),
    "stalled_machine",
)
_QUANTITIES = ("quantity", "ratio", "units", "equal_ratios", "rig_reader")
TESTS: Mapping[str, tuple[str, ...]] = {
    "lint/solve": ("solve", "reference", "check"),
    "lint/check": ("check",),
    "rules": ("check", "solve", "repair/test_other_findings.py"),
    "schema/quantities": tuple(f"schema/test_{name}.py" for name in _QUANTITIES),
    "lint/repair/line": tuple(f"repair/test_{name}.py" for name in _REPAIRS),
    "lint/audit": ("audit",),
}
"""The tests that stand beside the modules of a place: they are asked first."""
ALL = (
    *("solve", "reference", "check", "schema", "audit", "repair", "design", "report_model", "write", "changes"),
    *("commands", "properties", "starters", "samples", "hostile", "run/test_effort.py"),
    *("run/test_result_cache.py", "installation/test_without_compiled_extras.py", "trust/test_table.py"),
    *("test_bill_of_materials.py", "test_stock_bill.py"),
)
"""All tests that are asked. The upgrade run is not among them: it tells a change from what was, not from what is
right."""
_CACHES = "XDG_CACHE_HOME"
"""Where verdicts are kept: each mutant's are its own, else they would be given for the program, and its for it."""
_MEMORY = 2 << 30
_SURVIVED, _KILLED, _NOT_PUT_IN = 0, 1, 2
_FEW = 15  # examples of a property, where it does not say how many
_OPTIONS = (
    *("-q", "-n", "0", "-m", "", "-p", "no:cacheprovider", "--hypothesis-seed=0"),
    *("--rootdir", str(ROOT), "-W", "ignore"),
)
Change = Callable[[], int]
"""Puts a mutant into this process: in how many places."""
Timed = tuple[pytest.Item, float]
"""A test, and the seconds that it takes."""
Outcome = str
"""`killed`, `survived`, `equivalent`, or `no mutant` where the code is the same, or none."""


def outcomes(mutants: Sequence[Mutant], seconds: float, tests: Sequence[str] = ALL) -> dict[Mutant, Outcome]:
    """What became of each, by these tests; ``seconds`` is what those of one mutant may take.

    Raises RuntimeError where the tests cannot be collected.
    """
    os.chdir(ROOT)
    killer = Killer(mutants, map_file(tests), seconds)
    with TemporaryDirectory() as caches, pytest.MonkeyPatch.context() as patch, redirect_stdout(StringIO()):
        patch.setenv(_CACHES, caches)
        pytest.main([*_OPTIONS, *(f"tests/{name}" for name in tests)], plugins=[killer])
    if len(killer.outcomes) != len(mutants):
        raise RuntimeError("the tests could not be collected: run them by themselves first")
    return killer.outcomes


class Killer:
    """A pytest plugin that runs no test itself: for each mutant a process of its own does, a copy of this one."""

    def __init__(self, mutants: Sequence[Mutant], file: Path, seconds: float) -> None:
        self.mutants, self.map, self.seconds = mutants, file, seconds
        self.outcomes: dict[Mutant, Outcome] = {}
        self.functions: Mapping[Path, Sequence[FunctionType]] = {}

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """In place of pytest's own loop."""
        settings.register_profile("few", max_examples=_FEW, deadline=None, derandomize=True)
        settings.load_profile("few")
        bearing = mapped(session.items, self.map)
        by_id = {item.nodeid: item for item in session.items}
        reasons = equivalents()
        for module in modules():
            import_module(name_of(module))
        self.functions = functions_in_memory(map(installed, modules()))
        gc.freeze()  # else a copy's first collection would copy all memory
        self._control(bearing, by_id)
        for number, mutant in enumerate(self.mutants, 1):
            known = identity(mutant) in reasons
            began = time.monotonic()
            self.outcomes[mutant] = "equivalent" if known else self._outcome(mutant, bearing, by_id)
            took = time.monotonic() - began
            if self.outcomes[mutant] == "survived" or took > 3 * self.seconds:
                told = f"{self.outcomes[mutant]} in {took:.1f} s: {mutant}\n    {changed_line(mutant)}"
                sys.__stderr__.write(f"{number}/{len(self.mutants)} {told}\n")
        return True

    def _control(self, bearing: Bearing, by_id: Mapping[str, pytest.Item]) -> None:
        """Tests that kill the program as it is would kill everything. Raises RuntimeError where they do."""
        chosen = {test for mutant in self.mutants[:5] for test in _within(bearing, mutant, self.seconds)[0]}
        items = [(by_id[test], bearing.seconds[test]) for test in sorted(chosen)]
        if _in_copy(None, items, 60.0) != _SURVIVED:
            raise RuntimeError("the tests fail in a copy of this process without any mutant")

    def _outcome(self, mutant: Mutant, bearing: Bearing, by_id: Mapping[str, pytest.Item]) -> Outcome:
        path = installed(mutant.module)
        chosen, expected = _within(bearing, mutant, self.seconds)
        items = [(by_id[test], bearing.seconds[test]) for test in chosen]
        try:
            changes = changed_functions(path, source(mutant.module), mutated_source(mutant))
        except SyntaxError:
            return "no mutant"
        except OutsideFunctionsError:
            return _on_import(mutant, path, items, expected)
        if not changes:
            return "no mutant"
        code = _in_copy(partial(put_in, self.functions[path], changes), items, expected)
        if code == _NOT_PUT_IN or (code == _SURVIVED and not bearing.seen(mutant.module, mutant.line)):
            return _on_import(mutant, path, items, expected)  # a function that runs when its module is imported
        return "survived" if code == _SURVIVED else "killed"


def _within(bearing: Bearing, mutant: Mutant, seconds: float) -> tuple[list[str], float]:
    """The quickest tests of a mutant that together take no longer, and how long they take."""
    near = tuple(f"tests/{name}" for name in TESTS[mutant.module.rpartition("/")[0]])
    chosen, total = list[str](), 0.0
    for test in bearing.on(mutant.module, mutant.line, near):
        total += bearing.seconds[test]
        if chosen and total > seconds:
            break
        chosen.append(test)
    return chosen, total


def _in_copy(change: Change | None, items: Sequence[Timed], expected: float) -> int:
    """How a copy of this process ends that has the change and runs the tests until one fails; negative by a signal."""
    sys.stdout.flush()
    copy = Copy(20 * expected + 90)
    if copy.is_this:
        try:
            os._exit(_run(change, items, expected))
        except BaseException:
            os._exit(_KILLED)
    return copy.awaited()


def _run(change: Change | None, items: Sequence[Timed], expected: float) -> int:
    """Put the change in and run the tests; where one runs far longer than without it a signal ends this process."""
    _bounded(expected)
    null = os.open(os.devnull, os.O_WRONLY)
    os.dup2(null, 1)
    os.dup2(null, 2)
    os.environ[_CACHES] = str(Path(os.environ[_CACHES], str(os.getpid())))
    if change is not None and not change():
        return _NOT_PUT_IN
    watch = _Watch()
    for number, (item, seconds) in enumerate(items):
        if number == 0:
            item.config.pluginmanager.register(watch)
        following = items[number + 1][0] if number + 1 < len(items) else None
        signal.setitimer(signal.ITIMER_PROF, 10 * seconds + 2)
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        if watch.failed:
            return _KILLED
    return _SURVIVED


class _Watch:
    failed = False

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.failed = self.failed or report.outcome == "failed"


def _bounded(expected: float) -> None:
    """No mutant runs for ever or takes all memory: both end it, and it is killed by that."""
    most = int(10 * expected + 20)
    resource.setrlimit(resource.RLIMIT_CPU, (most, most + 5))
    taken = int(Path("/proc/self/statm").read_text("ascii").split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (taken + _MEMORY, -1))
    os.setpgid(0, 0)
    signal.signal(signal.SIGXCPU, signal.SIG_DFL)
    signal.signal(signal.SIGPROF, signal.SIG_DFL)


def _on_import(mutant: Mutant, path: Path, items: Sequence[Timed], expected: float) -> Outcome:
    """What becomes of a mutant that shows when its module is imported."""
    change = partial(put_in_values, sys.modules[name_of(mutant.module)], path, mutated_source(mutant))
    if _in_copy(change, items, expected) not in (_SURVIVED, _NOT_PUT_IN):
        return "killed"
    return _in_new_process(mutant, [item.nodeid for item, _ in items], expected)


def _in_new_process(mutant: Mutant, tests: Sequence[str], expected: float) -> Outcome:
    """The outcome where the change is in what runs on import."""
    if not tests:
        return "survived"
    command = [sys.executable, str(Path(__file__).with_name("mutation.py")), "--alone", json.dumps(mutant), *tests]
    try:
        own = {**os.environ, _CACHES: str(Path(os.environ[_CACHES], str(time.monotonic_ns())))}
        ran = subprocess.run(command, cwd=ROOT, env=own, capture_output=True, timeout=600 + 10 * expected, check=False)
    except subprocess.TimeoutExpired:
        return "killed"
    return "survived" if ran.returncode == 0 else "killed"


def alone(mutant: Mutant, tests: Sequence[str]) -> int:
    """Run the tests in this process, in which nothing of the program is loaded yet, with the mutant in its place."""
    path, text, own = installed(mutant.module), mutated_source(mutant), SourceFileLoader.get_code

    def get_code(loader: SourceFileLoader, name: str) -> object:
        if Path(loader.path).resolve() == path:
            return compile(text, str(path), "exec")
        return own(loader, name)

    SourceFileLoader.get_code = get_code  # type: ignore[method-assign,assignment]
    _bounded(30)
    return int(pytest.main([*_OPTIONS, "-x", *tests]))


def equivalents() -> dict[str, str]:
    """The mutants that no test can tell from the program, with the reason: three lines each, empty lines between."""
    found = {}
    for block in EQUIVALENT.read_text("utf-8").split("\n\n"):
        lines = [line for line in block.splitlines() if not line.startswith("#")]
        if lines:
            found[lines[0]] = " ".join(lines[1:]).strip()
    return found
