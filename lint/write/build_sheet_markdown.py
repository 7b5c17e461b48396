"""A build sheet as Markdown: a box to tick for each thing to gather, make, build, fill and start."""

from collections.abc import Iterator

from lineshaft.check.finding import Text
from lineshaft.report_model.build_sheet_record import BuildPart, BuildSheet, StartStep, Stretch
from lineshaft.write.cautions import CAUTIONS
from lineshaft.write.markdown import code
from lineshaft.write.shown_units import Units, figures, words

NO_START = "No order of start-up is safe"
DO_NOT = "Do not"
DONE = "as with its stretch"


def build_sheet_markdown(sheet: BuildSheet, units: Units) -> str:
    """The sheet as text; whatever comes from a file stands in a code span."""
    return "\n".join(_lines(sheet, units)).rstrip("\n") + "\n"


def _lines(sheet: BuildSheet, units: Units) -> Iterator[str]:
    yield f"# Build sheet: {code(sheet.name)}"
    yield f"\n{code(sheet.file)}, from the prime movers outward. {until(sheet)}\n"
    if sheet.cautions:
        yield CAUTIONS
    if sheet.raw:
        yield "## Gather and make\n"
        yield from (f"- [ ] gather {count} {code(name)}" for name, count in sheet.raw)
        # What others are made of is made first.
        yield from (_making(name, needed, makings) for name, needed, makings in reversed(sheet.making))
        yield ""
    for number, stretch in enumerate(sheet.stretches, 1):
        yield f"## Stretch {number}: {code(stretch.title)}\n"
        yield from _stretch(stretch, units)
        yield ""
    if sheet.start_up:
        yield "## Start\n"
        yield from (_step(number, step, units) for number, step in enumerate(sheet.start_up, 1))
    elif sheet.no_start:
        yield f"## Start\n\n{NO_START}: {_said(sheet.no_start, units)}."


def until(sheet: BuildSheet) -> str:
    """How long nothing may be started."""
    if sheet.no_start or not sheet.solved or any(step.breaks for step in sheet.start_up):
        return "Start no prime mover as it stands: `lineshaft check` says why."
    return "Leave every prime mover stopped until the last list."


def _step(number: int, step: StartStep, units: Units) -> str:
    """A step to tick off; one that is done has no box, and one that breaks something says so."""
    said = _said(step.does, units)
    if step.done:
        return f"- {number}. {said}, {DONE}"
    return f"- [ ] {number}. {said}" + (f" **{DO_NOT}: {_said(step.breaks, units)}**" if step.breaks else "")


def _making(name: str, needed: int, makings: int) -> str:
    return f"- [ ] make {code(name)} {makings} time{'s' if makings != 1 else ''}, for {needed} needed"


def _stretch(stretch: Stretch, units: Units) -> Iterator[str]:
    if stretch.goods:
        yield f"Take {goods_words(stretch.goods)}.\n"
    for part in stretch.parts:
        yield f"- [ ] {_part(part)}"
    for part in stretch.parts:
        yield from (f"- [ ] {code(part.name)}: {_said(said, units)}" for said in part.lubricant)
    yield from (f"- [ ] {_said(tank, units)}" for tank in stretch.tanks)


def _part(part: BuildPart) -> str:
    said = [f"{code(part.name)}: {code(part.item)}", *(code(one) for one in part.settings)]
    if part.driven_by:
        said.append(f"driven by {' and '.join(code(one) for one in part.driven_by)}")
    if part.at is not None:
        said.append(f"at {', '.join(figures(value) for value in part.at)}")
    return ", ".join(said)


def _said(text: Text, units: Units) -> str:
    return code(words(text, units))


def goods_words(goods: tuple[tuple[str, int], ...]) -> str:
    """Goods by number in code spans."""
    return ", ".join(f"{count} {code(name)}" for name, count in goods)
