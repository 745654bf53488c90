"""Tests of the roles."""

from commission import quantity
from commission.sheet.roles import ROLES, RoleKind


def test_a_bit_has_two_words_that_differ_and_no_unit() -> None:
    """A sheet states a sense as "1 means …", so each bit names both its states."""
    for name, role in ROLES.items():
        assert (role.kind is RoleKind.BIT) == bool(role.true_word) == bool(role.false_word), name
        if role.kind is RoleKind.BIT:
            assert role.true_word != role.false_word, name
            assert not role.unit, name


def test_numbers_and_settings_have_a_unit_that_is_known() -> None:
    """Readings are handed over in a unit that the conversion knows; commands have none."""
    for name, role in ROLES.items():
        assert (role.kind in (RoleKind.NUMBER, RoleKind.SETTING)) == bool(role.unit), name
        if role.unit:
            assert quantity.conversion(role.unit, role.unit).scale == 1.0, name
            assert role.unit in ("1", "Pa", "V", "A", "s", "degC"), f"{name}: {role.unit} is no unit of computation"


def test_labels_are_said_aloud() -> None:
    """Each role has a label of its own, in words and not in identifiers."""
    labels = [role.label for role in ROLES.values()]
    assert len(set(labels)) == len(labels)
    assert not [label for label in labels if "_" in label or not label.strip()]


def test_an_alarm_is_active_or_clear() -> None:
    """All alarms speak the same two words."""
    alarms = [role for name, role in ROLES.items() if name.startswith("alarm_") and name != "alarm_relay"]
    assert {(role.true_word, role.false_word) for role in alarms} == {("active", "clear")}
