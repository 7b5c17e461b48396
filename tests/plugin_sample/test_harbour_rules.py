from harbour_rules import RULE

from lineshaft.testing import findings_of

RIG = """rig: 1
catalogue: works.catalogue.yaml
parts:
  wheel: {item: wheel}
  saw:   {item: saw, driven-by: wheel%s}
"""


def test_a_machine_without_a_label_is_found():
    (found,) = findings_of(RULE, RIG % "")
    assert (found.part, found.level) == ("saw", "warning")
    assert findings_of(RULE, RIG % ", label: old lady") == ()
