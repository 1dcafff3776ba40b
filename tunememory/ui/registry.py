"""Where each screen lives. Screens are imported when they are first opened, never before."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, NamedTuple

from tunememory.ui.actions import SET

if TYPE_CHECKING:
    from tunememory.ui.desk_screen import DeskScreen


class Area(NamedTuple):
    """A screen that can be opened by name.

    Attributes:
        module: Module that holds it.
        screen: Class in that module.
        goes: Sentence for the palette, worded like that of a key; empty when it cannot be opened on
            its own.
    """

    module: str
    screen: str
    goes: str = ""


_SCREENS = "tunememory.ui.screens."

AREAS: dict[str, Area] = {
    "today": Area(_SCREENS + "today", "TodayScreen", "Go to Today"),
    "tunes": Area(_SCREENS + "tunes", "TunesScreen", "Go to My tunes"),
    "fading": Area(_SCREENS + "fading", "FadingScreen", "Go to what is fading"),
    "how_well": Area(_SCREENS + "how_well", "HowWellScreen", "See how well we guess"),
    "forecast": Area(_SCREENS + "forecast", "ForecastScreen", "Look a year ahead"),
    "find": Area(_SCREENS + "find", "FindScreen", "Find a tune by name or by notes"),
    "edit": Area(_SCREENS + "edit", "EditScreen", "Add a tune"),
    "import": Area(_SCREENS + "import_book", "ImportScreen", "Bring in a tune book"),
    "settings": Area(_SCREENS + "settings", "SettingsScreen", "Go to Settings"),
    "practice": Area(_SCREENS + "practice", "PracticeScreen", "Go to practice"),
    "journal": Area(_SCREENS + "journal", "JournalScreen", "Go to the journal"),
    "heard": Area(_SCREENS + "heard_tonight", "HeardTonight", "Write down what was heard tonight"),
    "dates": Area(_SCREENS + "dates", "DatesScreen", "Go to the dates"),
    "date": Area(_SCREENS + "date_page", "DatePage"),
    "played": Area(_SCREENS + "played", "PlayedScreen"),
    "sets": Area(_SCREENS + "sets", "SetsScreen", f"Go to the {SET}s"),
    "set": Area(_SCREENS + "set_page", "SetPage"),
    "tonight": Area(_SCREENS + "tonight", "TonightScreen", "Ask what to start tonight"),
    "card": Area(_SCREENS + "card", "CardScreen", "Go to the card for the case"),
    "pupils": Area(_SCREENS + "pupils", "PupilsScreen", "Go to the pupils"),
    "pupil": Area(_SCREENS + "pupil", "PupilPage"),
    "together": Area(_SCREENS + "together", "TogetherScreen"),
    "tune": Area(_SCREENS + "tune_page", "TunePage"),
    "round": Area(_SCREENS + "round", "RoundScreen"),
    "help": Area(_SCREENS + "help", "HelpScreen"),
}
"""Every screen by name. ``edit`` takes ``uuid`` (``None`` adds), ``tune`` takes ``uuid``."""


def screen_class(name: str) -> type[DeskScreen[object]]:
    """Return the class of the screen called ``name``.

    Raises:
        KeyError: There is no screen of that name.
    """
    area = AREAS[name]
    found: type[DeskScreen[object]] = getattr(import_module(area.module), area.screen)
    return found
