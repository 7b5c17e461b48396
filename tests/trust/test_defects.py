"""That the defects put in by hand can be put in still; that the guards see them is a row of the table."""

import pytest

pytest.importorskip("cosmic_ray", reason="needs the extra `trust`")

from trust.defects import BY_HAND, ROOT, Defect


@pytest.mark.parametrize("defect", BY_HAND, ids=lambda defect: defect.name)
def test_a_defect_stands_where_it_is_said_to(defect: object) -> None:
    """Its text is there once, what takes its place is Python, and the tests that are to see it are there."""
    assert isinstance(defect, Defect)
    text = (ROOT / defect.module).read_text("utf-8")
    assert text.count(defect.old) == 1
    compile(text.replace(defect.old, defect.new), defect.module, "exec")
    assert all((ROOT / name).exists() for name in defect.tests)
