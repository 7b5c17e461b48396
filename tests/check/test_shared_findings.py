"""What stands in a blueprint's file is told once for all its uses, as the worst of them. By hand."""

import pytest

from lineshaft.check.finding import Cause, Edit, Level, Placement, times, torque
from lineshaft.check.judged_finding import Repair, RepairedFinding, Snagged, Waived
from lineshaft.check.shared_findings import each_once
from lineshaft.schema.text.span import TOP, Position, Span

WAIVED = Waived("tried", "2026-11-30", None)
FIRST, SECOND = (
    Repair(title, "setting", 0.0, (), (), (Edit("leg.blueprint.yaml", TOP, title),)) for title in ("turn it", "swap it")
)


def _use(
    line: int,
    many: float,
    level: Level = "error",
    waived: Waived | None = None,
    snag: Snagged | None = None,
    repairs: tuple[Repair, ...] = (),
) -> RepairedFinding:
    """The shaft of a leg that a rig places at a line: so many times over its limit."""
    part = f"leg-{line}/rod"
    places = Cause("a.rig.yaml", Span(Position(line, 3), Position(line, 9)), f"leg-{line}", ())
    said = ((f"{line} carries too much",), (("limit", torque(700)), ("times_limit", times(many))))
    return RepairedFinding(
        "torque-over-limit", level, "leg.blueprint.yaml", TOP, ("parts", "rod"), "rod", *said,
        placement=Placement("a.rig.yaml", part, (places,)), fingerprint="rod",
        waived=waived, snag=snag, repairs=repairs,
    )  # fmt: skip


def _beside(file: str = "b.rig.yaml", fingerprint: str = "other") -> RepairedFinding:
    """A finding of a rig's own file."""
    return RepairedFinding(
        "loose-end", "warning", file, TOP, ("parts", "m"), "m", ("is driven by nothing",), fingerprint=fingerprint
    )


def test_what_no_blueprint_has_stays_as_it_is_and_is_told_once() -> None:
    """Two alike are one; the order stays."""
    one, other = _beside(), _beside("c.rig.yaml", "third")
    assert each_once([other, one, other]) == [other, one]
    assert each_once([]) == []


def test_the_worst_use_is_told_where_the_first_stood_with_the_others_as_causes() -> None:
    """Of 1.3, 2.1 and 1.7 times at lines 9, 5 and 7: 2.1 times; then those at lines 7 and 9."""
    before, behind = _beside(), _beside("c.rig.yaml", "third")
    uses = (_use(9, 1.3), _use(5, 2.1), _use(7, 1.7))
    first, told, last = each_once([before, uses[0], behind, *uses[1:]])
    assert (first, last) == (before, behind)
    assert told.message == ("5 carries too much",)
    assert [use.home for use in told.uses] == [("a.rig.yaml", f"leg-{line}/rod") for line in (5, 7, 9)]
    assert [(c.file, c.span.start.line, c.part) for c in told.because] == [
        ("a.rig.yaml", 7, "leg-7/rod"),
        ("a.rig.yaml", 9, "leg-9/rod"),
    ]
    assert [c.message for c in told.because] == [("has it too: ", f"{line} carries too much") for line in (7, 9)]
    assert told.because[0].values == (("limit", torque(700)), ("times_limit", times(1.7)))


@pytest.mark.parametrize(
    ("uses", "line", "passes", "others"),
    [
        ((_use(5, 3.0, waived=WAIVED), _use(7, 1.3)), 7, False, ["has it too, waived: "]),
        ((_use(5, 3.0, snag=Snagged(None, None)), _use(7, 1.3)), 7, False, ["has it too, a snag: "]),
        ((_use(5, 3.0, waived=WAIVED), _use(7, 1.3, waived=WAIVED)), 5, True, ["has it too, waived: "]),
        ((_use(5, 3.0, "warning"), _use(7, 1.3)), 7, False, ["has it too: "]),
        ((_use(5, 1.3), _use(7, 1.3)), 5, False, ["has it too: "]),
    ],
)
def test_what_does_not_pass_then_what_is_graver_then_what_is_more_is_the_worst(
    uses: tuple[RepairedFinding, ...], line: int, passes: bool, others: list[str]
) -> None:
    """The whole passes where every use does; of equals the first is told."""
    (told,) = each_once(uses)
    assert (told.home[1], told.passes) == (f"leg-{line}/rod", passes)
    assert [cause.message[0] for cause in told.because] == others


def test_a_blueprint_that_has_it_by_itself_too_is_among_its_uses() -> None:
    """Judged alone it has no place in another file: its own is told."""
    alone = RepairedFinding(
        "torque-over-limit", "warning", "leg.blueprint.yaml", TOP, ("parts", "rod"), "rod", ("at the edge",),
        fingerprint="rod",
    )  # fmt: skip
    (told,) = each_once([alone, _use(5, 1.3)])
    assert told.home == ("a.rig.yaml", "leg-5/rod")
    assert [(c.file, c.message) for c in told.because] == [
        ("leg.blueprint.yaml", ("by itself ", "has it too: ", "at the edge"))
    ]


@pytest.mark.parametrize(
    ("others", "shown", "last"),
    [
        (10, 10, None),
        (11, 11, ""),
        (12, 11, ", and so does 1 more use"),
        (13, 11, ", and so do 2 more uses"),
        (17, 11, ", and so do 6 more uses"),
    ],
)
def test_ten_other_uses_are_told_and_the_rest_counted(others: int, shown: int, last: str | None) -> None:
    """The eleventh stands for all that are left."""
    (told,) = each_once([_use(line, 2.1 if line == 3 else 1.3) for line in range(3, 4 + others)])
    assert [cause.part for cause in told.because] == [f"leg-{line}/rod" for line in range(4, 4 + shown)]
    assert all(cause.message[0] == "has it too: " for cause in told.because[:10])
    assert [cause.message for cause in told.because[10:]] == ([] if last is None else [(f"has it too{last}",)])


def test_a_repair_that_not_every_use_has_says_which_one_it_is_for() -> None:
    """One that both have is for both; of a use that passes nothing is asked; by itself none is named."""
    worst = _use(5, 2.1, repairs=(FIRST, SECOND))
    (told,) = each_once([worst, _use(7, 1.3, repairs=(FIRST,))])
    assert [repair.title for repair in told.repairs] == ["turn it", "swap it, for leg-5/rod"]
    (told,) = each_once([worst, _use(7, 1.3)])
    assert [repair.title for repair in told.repairs] == ["turn it, for leg-5/rod", "swap it, for leg-5/rod"]
    (told,) = each_once([worst, _use(7, 1.3, waived=WAIVED)])
    assert [repair.title for repair in told.repairs] == ["turn it", "swap it"]
    (told,) = each_once([worst])
    assert (told.repairs, told.because, told.uses) == ((FIRST, SECOND), (), (worst,))
