"""The effort that a run spends on repairs, in steps of a search: so much for one file, so much for all together."""

EFFORT_OF_CHECK = 40_000
"""Steps that one file gets for all its findings where few are faulty."""
EFFORT_OF_RUN = 100 * EFFORT_OF_CHECK
"""Steps that all files of a run get together."""


def allotted(faulty: int) -> int:
    """The steps that each of so many faulty files of a run gets, as many for each, known before the first is searched.

    What a file gets by itself is halved until there is enough for all, so that one more faulty file seldom changes what
    the others get.
    """
    each = EFFORT_OF_CHECK
    while each * faulty > EFFORT_OF_RUN and each > 1:
        each //= 2
    return each
