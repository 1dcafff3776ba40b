"""The two themes, lamp-light and paper, and the one without colour."""

from __future__ import annotations

import os

from textual.theme import Theme

LAMP_LIGHT = "lamp-light"
PAPER = "paper"
CHOICES = (LAMP_LIGHT, PAPER)
"""What the player can choose between."""

NO_COLOUR = "no colour"

VARIABLES = ("quiet", "staff", "safe", "fading", "rusty", "lost", "raised", "mark-bg")
"""Names of our own colours: quiet text, staff lines, the states of a tune, a cursor line."""


def _theme(name: str, *, dark: bool, ground: str, ink: str, accent: str, **ours: str) -> Theme:
    variables = {key.replace("_", "-"): value for key, value in ours.items()}
    return Theme(
        name=name,
        dark=dark,
        primary=accent,
        secondary=ours["quiet"],
        accent=accent,
        warning=ours["fading"],
        error=ours["lost"],
        success=ours["safe"],
        foreground=ink,
        background=ground,
        surface=ours["raised"],
        panel=ours["raised"],
        variables={
            **variables,
            "block-cursor-background": ours["mark_bg"],
            "block-cursor-foreground": ink,
            "block-cursor-text-style": "bold",
            "input-cursor-background": accent,
            "input-selection-background": ours["mark_bg"],
            "border": ours["staff"],
            "border-blurred": ours["staff"],
            "scrollbar": ours["staff"],
            "scrollbar-background": ground,
            "scrollbar-hover": accent,
            "scrollbar-active": accent,
            "scrollbar-background-hover": ground,
            "scrollbar-background-active": ground,
            "footer-background": ground,
        },
    )


THEMES = (
    _theme(
        LAMP_LIGHT,
        dark=True,
        ground="#17120d",
        ink="#efe3cb",
        accent="#efb04e",
        quiet="#a08e74",
        staff="#5a4a38",
        safe="#efe3cb",
        fading="#efb04e",
        rusty="#d98b4f",
        lost="#d0705a",
        raised="#211a13",
        mark_bg="#3a2d1e",
    ),
    _theme(
        PAPER,
        dark=False,
        ground="#f7f0e0",
        ink="#2c2116",
        accent="#8a4f0a",
        quiet="#6f5f49",
        staff="#c3b393",
        safe="#2c2116",
        fading="#8a4f0a",
        rusty="#a0480f",
        lost="#a2301f",
        raised="#efe5cf",
        mark_bg="#e3d3b0",
    ),
)

_PLAIN = "ansi_default"

PLAIN_THEME = Theme(
    name=NO_COLOUR,
    dark=True,
    ansi=True,
    primary=_PLAIN,
    secondary=_PLAIN,
    accent=_PLAIN,
    warning=_PLAIN,
    error=_PLAIN,
    success=_PLAIN,
    foreground=_PLAIN,
    background=_PLAIN,
    surface=_PLAIN,
    panel=_PLAIN,
    boost=_PLAIN,
    variables=dict.fromkeys(
        (*VARIABLES, "ansi-background", "ansi-foreground",
         "block-cursor-foreground", "block-cursor-background",
         "input-cursor-background", "input-cursor-foreground", "input-selection-background",
         "input-selection-foreground", "border", "border-blurred", "scrollbar",
         "scrollbar-background", "scrollbar-hover", "scrollbar-active",
         "scrollbar-background-hover", "scrollbar-background-active", "screen-selection-background",
         "screen-selection-foreground"),
        _PLAIN,
    )
    | {"block-cursor-text-style": "reverse", "input-cursor-text-style": "reverse"},
)  # fmt: skip
"""For terminals whose owner asked for no colour (``NO_COLOR``, https://no-color.org)."""


def no_colour_wanted() -> bool:
    """Whether ``NO_COLOR`` is set and not empty."""
    return bool(os.environ.get("NO_COLOR"))
