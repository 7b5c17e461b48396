"""How grave a finding is, as a number."""

from lineshaft.check.level import LEVELS, gravity


def test_gravity_rises_from_a_note_to_an_error() -> None:
    """A note 0, a warning 1, an error 2; the levels are told the gravest first."""
    assert LEVELS == ("error", "warning", "note")
    assert [gravity(level) for level in LEVELS] == [2, 1, 0]
