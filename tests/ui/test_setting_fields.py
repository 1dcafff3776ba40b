"""Every setting can be reached and turned by keyboard."""

import dataclasses

import pytest

from tunememory.errors import NotDoneError
from tunememory.settings import Settings, checked
from tunememory.ui.settings import SETTINGS


def test_every_setting_has_a_line() -> None:
    fields = {field.name for field in dataclasses.fields(Settings)}
    # The tunings of other instruments come and go with the instrument.
    assert {field.name for field in SETTINGS} == fields - {"other_tunings"}


@pytest.mark.parametrize("field", [f for f in SETTINGS if not f.typed], ids=lambda f: f.name)
def test_turning_on_and_back_changes_nothing(field) -> None:
    before = Settings()
    turned = field.turned(before, 1)
    assert turned != before
    assert type(getattr(turned, field.name)) is type(getattr(before, field.name))
    checked(turned)
    assert field.turned(turned, -1) == before


@pytest.mark.parametrize("field", [f for f in SETTINGS if f.choices], ids=lambda f: f.name)
def test_choices_go_round(field) -> None:
    settings = Settings()
    for _ in field.choices:
        settings = field.turned(settings, 1)
    assert settings == Settings()


def test_a_number_out_of_range_is_refused_by_the_service() -> None:
    (field,) = [f for f in SETTINGS if f.name == "intake"]
    with pytest.raises(NotDoneError, match="1"):
        checked(field.put(Settings(), 0))


def test_values_are_said_in_words() -> None:
    shown = {field.name: field.shown(Settings()) for field in SETTINGS}
    assert shown["minutes_first"] == "4 min"
    assert shown["animations"] == "no"
    assert shown["standing_tuning"] == "GDAE (the usual one)"
    assert shown["day_ends_at"] == "4 in the morning"


def test_another_instrument_brings_its_own_tunings():
    field = next(field for field in SETTINGS if field.name == "instrument")
    fiddle = dataclasses.replace(Settings(), standing_tuning="AEAE")
    mandolin = field.turned(fiddle, 1)
    assert (mandolin.instrument, mandolin.standing_tuning) == ("mandolin", "")
    assert field.turned(mandolin, -1).standing_tuning == "AEAE"
