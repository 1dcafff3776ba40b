"""Both themes can be read, and the third has no colour at all."""

import pytest
from textual.color import Color

from tunememory.ui.theme import PLAIN_THEME, THEMES, VARIABLES, no_colour_wanted

TEXT = ("quiet", "safe", "fading", "rusty", "lost")


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (W3C, WCAG 2.2, "contrast ratio" and "relative luminance")."""

    def luminance(colour: str) -> float:
        channels = [
            c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
            for c in Color.parse(colour).normalized
        ]
        return 0.2126 * channels[0] + 0.7152 * channels[1] + 0.0722 * channels[2]

    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_formula_gives_its_known_ends() -> None:
    # WCAG 2.2: black on white is 21 to 1.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#777777") == pytest.approx(1)


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
@pytest.mark.parametrize("name", TEXT)
@pytest.mark.parametrize("ground", ["background", "raised", "mark-bg"])
def test_text_stands_out_from_its_ground(theme: object, name: str, ground: str) -> None:
    # WCAG 2.2, success criterion 1.4.3 (AA): at least 4.5 to 1; large or bold marks 3 to 1.
    grounds = {"background": theme.background, **theme.variables}  # type: ignore[attr-defined]
    least = 4.5 if ground == "background" else 3.0
    assert contrast(theme.variables[name], grounds[ground]) >= least  # type: ignore[attr-defined]


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_ink_and_accent_stand_out(theme: object) -> None:
    assert contrast(theme.foreground, theme.background) >= 7  # type: ignore[attr-defined]
    assert contrast(theme.accent, theme.background) >= 4.5  # type: ignore[attr-defined]


@pytest.mark.parametrize("theme", [*THEMES, PLAIN_THEME], ids=lambda theme: theme.name)
def test_every_theme_has_every_colour_of_ours(theme: object) -> None:
    assert set(VARIABLES) <= set(theme.variables)  # type: ignore[attr-defined]


def test_no_colour_is_wanted_only_when_the_variable_says_something(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # https://no-color.org: "when present and not an empty string".
    monkeypatch.delenv("NO_COLOR", raising=False)
    assert not no_colour_wanted()
    monkeypatch.setenv("NO_COLOR", "")
    assert not no_colour_wanted()
    monkeypatch.setenv("NO_COLOR", "1")
    assert no_colour_wanted()
