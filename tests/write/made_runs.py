"""Runs made by hand for the writers: plain findings in numbers, and one whose every text comes from a stranger."""

from dataclasses import replace

from lineshaft.check.finding import Cause, Edit, times
from lineshaft.check.judged_finding import Repair, RepairedFinding, Snagged, Waived
from lineshaft.check.level import Level
from lineshaft.schema.text.span import Position, Span
from lineshaft.write.summary import FileReport, Run

HOSTILE = {
    "log command": "::error file=x::taken over",
    "log command after a break": "fine\n::set-output name=a::b\r\n::stop-commands::x\r::debug::y",
    "older log command": "##[error]taken ##vso[task.setvariable variable=a]b",
    "percent": "100%0A::warning::%25 %0D",
    "terminal": "\x1b[31mred\x1b[0m \x1b]8;;https://a.example\x07x\x1b]8;;\x07 \x9b2J \x7f\x00\x08",
    "bidi": "\u202egnp.\u2066x\u2069 \u200b\u200e\ufeff",
    "separators": "a\u2028b\u2029c\x85d",
    "surrogate": "a\ud800b\udcffc",
    "not in XML": "a\ufffeb\uffffc\x0bd",
    "markup": "<script>alert(1)</script> <img src=x onerror=y> &amp; ]]> <!-- \"'",
    "Markdown": "*a* _b_ ~~c~~ | d | [e](https://a.example) ![f](g) # h\n\n# i\n- j\n> k\n<https://a.example>",
    "backticks": "`a` ``b`` ```c``` `",
    "fence": "```\n[a](https://a.example)\n```\n~~~",
    "pipes": "|a|\\|b\\\\|c|",
    "mention": "@someone #12 GH-3 www.a.example https://a.example mail@a.example",
    "SARIF": "[a](0) {0} {1} {{2}} \\[b](1) \\\\[c](2)",
    "cell": "=1+1, @SUM(A1)",
    "path": "../../a b:c,d%20#e?f",
    "emoji": "tide \U0001f30a wheel",
    "long": "`|[" * 3000,
    "space": " ",
}


def at(line: int, column: int = 3) -> Span:
    """Four characters at a place."""
    return Span(Position(line, column), Position(line, column + 4))


def plain(level: Level, number: int, file: str = "tern.rig.yaml", over: float = 2.0) -> RepairedFinding:
    """A finding with a number in its part, line and fingerprint."""
    span, cause = at(number + 1), Cause(file, at(1), "wheel", ("gives too much",))
    return RepairedFinding(
        *("torque-over-limit", level, file, span, ("parts", f"p{number}"), f"p{number}", ("carries too much",)),
        values=(("times_limit", times(over)),),
        because=(cause,),
        fingerprint=f"{level}-{number}",
    )


def run_of(*findings: RepairedFinding) -> Run:
    """One sheet of ten parts."""
    return Run("0.1.0", (FileReport("tern.rig.yaml", "Tern", 10, 0, findings),))


def hostile_run(text: str) -> Run:
    """A run in which every text that may come from a file is the given one; an error, a waived one and a snag."""
    cause = Cause(text, at(2), text, (text,))
    repair = Repair(text, "setting", 0.0, ((text, 1),), (), (Edit(text, at(4), text),))
    finding = RepairedFinding(
        *("torque-over-limit", "error", text, at(4), ("parts", text), text, (text,)),
        because=(cause, cause),
        suggestion=(text,),
        repairs=(repair,),
        no_repair=text,
        fingerprint="f1",
    )
    waived = replace(finding, waived=Waived(text, "2027-01-31", None), fingerprint="f2")
    snag = replace(finding, snag=Snagged(text, 1.0), fingerprint="f3")
    return Run("0.1.0", (FileReport(text, text, 2, 0, (finding, waived, snag)),), (text,), {"torque-over-limit": text})
