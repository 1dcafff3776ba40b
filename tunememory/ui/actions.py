"""Keys and what they do, written once: the key line, the help and the palette read them here."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, NamedTuple, cast

from textual.binding import Binding

if TYPE_CHECKING:
    from textual.app import App
    from textual.dom import DOMNode
    from textual.screen import Screen

    from tunememory.ui.app import TuneApp
    from tunememory.ui.screen import SessionScreen


SET = "{set}"
"""Stands, in words of a key, for what the player calls tunes played in a row."""

HEAD_ONLY = "Hold today's sitting in the head, without the instrument, or with it again"
"""What the key for it says, on Today and in practice."""


def worded(text: str, app: App[object]) -> str:
    """Return words of a key as this player says them."""
    return text.replace(SET, cast("TuneApp", app).set_word)


class Act(NamedTuple):
    """One thing the player can do now.

    Attributes:
        key: The key as it is shown, ``"space"``.
        short: A word or two for the key line; empty when it is not shown there.
        says: A sentence for help and palette.
        action: Textual action, run on ``node``.
        node: Where the action lives.
        enabled: ``False`` when it is known but not possible just now.
        group: A word that several keys share in the key line, or empty.
    """

    key: str
    short: str
    says: str
    action: str
    node: DOMNode
    enabled: bool
    group: str


def bind(keys: str, action: str, short: str, says: str, *, shown: bool = True, key: str = "",
         priority: bool = False, ident: str = "", group: str = "") -> Binding:  # fmt: skip
    """Return a binding of ours.

    Args:
        keys: Textual key names, comma separated; the first is the one shown.
        action: What it runs.
        short: A word or two for the key line.
        says: One plain sentence for help and palette; it must make sense without the key. In it
            and in ``short`` ``SET`` stands for the player's own word.
        shown: Whether it stands in the key line.
        key: How the key is written, when its own name is not it.
        priority: Works even while something is being typed.
        ident: Name of the binding for key maps; made from the action when empty.
        group: A word that this key shares with its neighbours in the key line.
    """
    return Binding(
        keys,
        action,
        short,
        show=shown,
        key_display=key or None,
        priority=priority,
        tooltip=says,
        id=ident or action,
        group=Binding.Group(group, compact=True) if group else None,
    )


def acts_of(screen: Screen[object]) -> list[Act]:
    """Everything that can be done on ``screen`` now, each action once, in the order it was bound.

    Textual's own bindings (focus, scrolling, copying) have no sentence of ours and are left out.
    """
    found: dict[tuple[str, int], Act] = {}
    for active in screen.active_bindings.values():
        binding = active.binding
        place = (binding.action, id(active.node))
        if not binding.tooltip or binding.id is None or place in found:
            continue
        found[place] = Act(
            key=binding.key_display or screen.app.get_key_display(binding),
            short=worded(binding.description, screen.app) if binding.show else "",
            says=worded(binding.tooltip, screen.app),
            action=binding.action,
            node=active.node,
            enabled=active.enabled,
            group=binding.group.description if binding.group else "",
        )
    return list(found.values())


def keys_of(screen: Screen[object]) -> list[tuple[str, str]]:
    """Every key of ``screen`` and of what is on it, possible just now or not.

    Returns:
        ``(keys, sentence)`` pairs in the order they were bound, each sentence once.
    """
    nodes: list[DOMNode] = [screen, *screen.query("*")]
    found: dict[str, list[str]] = {}
    for kind in dict.fromkeys(type(node) for node in nodes):
        for binding in _bound_by(kind, screen):
            keys = found.setdefault(binding.tooltip, [])
            shown = binding.key_display or screen.app.get_key_display(binding)
            if shown not in keys:
                keys.append(shown)
    return [(" ".join(keys), worded(says, screen.app)) for says, keys in found.items()]


def app_keys(app: App[object]) -> list[tuple[str, str]]:
    """Keys that work on every screen, with their sentences."""
    return [
        (binding.key_display or app.get_key_display(binding), binding.tooltip)
        for binding in Binding.make_bindings(type(app).BINDINGS)
        if binding.tooltip and not binding.key.startswith("f")
    ]


def _bound_by(kind: type[DOMNode], screen: Screen[object]) -> list[Binding]:
    """Bindings of a class and its ancestors that have a sentence."""
    return [
        binding
        for ancestor in kind.__mro__
        if ancestor is not type(screen.app)
        for binding in Binding.make_bindings(vars(ancestor).get("BINDINGS", []))
        if binding.tooltip and binding.id is not None
    ]


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


_UI = "tunememory.ui."

AREAS: dict[str, Area] = {
    "today": Area(_UI + "today", "TodayScreen", "Go to Today"),
    "tunes": Area(_UI + "library.tunes", "TunesScreen", "Go to My tunes"),
    "fading": Area(_UI + "forecast", "FadingScreen", "Go to what is fading"),
    "how_well": Area(_UI + "forecast", "HowWellScreen", "See how well we guess"),
    "forecast": Area(_UI + "forecast", "ForecastScreen", "Look a year ahead"),
    "find": Area(_UI + "library.find", "FindScreen", "Find a tune by name or by notes"),
    "edit": Area(_UI + "library.edit", "EditScreen", "Add a tune"),
    "import": Area(_UI + "library.import_book", "ImportScreen", "Bring in a tune book"),
    "settings": Area(_UI + "settings", "SettingsScreen", "Go to Settings"),
    "practice": Area(_UI + "practice.screen", "PracticeScreen", "Go to practice"),
    "journal": Area(_UI + "practice.journal", "JournalScreen", "Go to the journal"),
    "heard": Area(_UI + "practice.heard", "HeardTonight", "Write down what was heard tonight"),
    "dates": Area(_UI + "dates", "DatesScreen", "Go to the dates"),
    "date": Area(_UI + "dates", "DatePage"),
    "played": Area(_UI + "dates", "PlayedScreen"),
    "sets": Area(_UI + "library.sets", "SetsScreen", f"Go to the {SET}s"),
    "set": Area(_UI + "library.sets", "SetPage"),
    "tonight": Area(_UI + "tonight", "TonightScreen", "Ask what to start tonight"),
    "card": Area(_UI + "teaching", "CardScreen", "Go to the card for the case"),
    "pupils": Area(_UI + "teaching", "PupilsScreen", "Go to the pupils"),
    "pupil": Area(_UI + "teaching", "PupilPage"),
    "together": Area(_UI + "teaching", "TogetherScreen"),
    "tune": Area(_UI + "library.tune", "TunePage"),
    "round": Area(_UI + "round.screen", "RoundScreen"),
    "help": Area(_UI + "help", "HelpScreen"),
}
"""Every screen by name. ``edit`` takes ``uuid`` (``None`` adds), ``tune`` takes ``uuid``."""


def screen_class(name: str) -> type[SessionScreen[object]]:
    """Return the class of the screen called ``name``.

    Raises:
        KeyError: There is no screen of that name.
    """
    area = AREAS[name]
    found: type[SessionScreen[object]] = getattr(import_module(area.module), area.screen)
    return found
