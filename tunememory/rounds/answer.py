"""One prompt while it is answered: the rules of hints, seconds, levels and marks.

Both front ends ask by these, so that the same answers leave the same checks in the file.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from tunememory.recall.check import HINT_CAP, NAME, NAME_WORDS, START_WORDS, Level, Prompt

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tunememory.library.overview import TuneRow
    from tunememory.library.starts import StartView
    from tunememory.rounds.planning import Asked


KICK_OFF_SECONDS = 3.0
"""At most this long and it would be kicked off; common practice, no source."""

FIND_SECONDS = 10.0
"""At most this long and it would be found; common practice, no source."""

SIT_OUT_SECONDS = 30.0
"""Longer than this and it would be sat out; common practice, no source."""

AWAY_SECONDS = 180.0
"""Longer than this and the player was somewhere else: the time is not kept."""

KEY_HINT, FIRST_NOTE, FIRST_THREE, WHOLE = 1, 2, 3, 4
"""Steps of hint, in the order they are given. For a name: key, first letter, initials, name."""

SHOWN, HEARD = "shown", "heard"
"""Ways of asking for a name that are named here; the third is both."""

NOTHING_TO_HINT = "Nothing more is written down to hint with."
ONLY_THE_NAME = "Only the name is asked for here."
SHOWN_ALREADY = "The answer is shown already: say how it came."


@dataclass(slots=True)
class Answer:
    """What the player did with a prompt so far.

    Attributes:
        asked: The prompt.
        shown: The answer is to be seen, the clock stands.
        seconds: From the prompt shown to "I have it"; ``None`` when it was not measured.
        hints: Highest step of hint shown, 0 to 4.
        levels: Strands that were rated on their own.
        rated: Level of every strand, once the prompt is answered.
        strand: The strand that the next level is for, or empty for all that are left.
        wrong_key: It began in another key.
        strayed_into: Identity and title of the tune it turned into, or two empty strings.
        asked_by: Whether a start to be named is ``"shown"``, ``"heard"`` or ``"both"``.
    """

    asked: Asked
    shown: bool = False
    seconds: float | None = None
    hints: int = 0
    levels: dict[str, Level] = field(default_factory=dict)
    rated: dict[str, Level] = field(default_factory=dict)
    strand: str = ""
    wrong_key: bool = False
    strayed_into: tuple[str, str] = ("", "")
    asked_by: str = SHOWN

    @property
    def start(self) -> StartView | None:
        """The first start that has notes."""
        return next((view for view in self.asked.starts if view.letters), None)

    @property
    def parts(self) -> tuple[str, ...]:
        """Parts to be heard: the start to be named, or those asked for; empty for none."""
        written = tuple(start.part for start in self.asked.tune.starts if start.notes)
        wanted = tuple(part for part in written if part in self.asked.strands)
        return wanted or written[:1]

    @property
    def by_ear(self) -> bool:
        """Whether the start to be named is not on the screen."""
        return not self.shown and self.asked_by == HEARD

    @property
    def may_be_heard(self) -> bool:
        """Whether hearing a start gives nothing away now."""
        return bool(self.parts) and (self.shown or self.asked_by != SHOWN)

    @property
    def may_be_marked(self) -> bool:
        """Whether it can have begun in another key, or turned into another tune."""
        return NAME not in self.asked.strands

    @property
    def words(self) -> dict[Level, str]:
        """What the levels are called for this prompt."""
        return NAME_WORDS if self.asked.prompt is Prompt.WHAT else START_WORDS

    @property
    def cap(self) -> Level:
        """Highest level that can be given."""
        return HINT_CAP if self.hints else Level.KICK_OFF

    @property
    def cap_words(self) -> str:
        """Why a higher level than ``cap`` is not taken."""
        return f"A hint was shown: give {int(self.cap)} or less."

    def show(self, seconds: float | None) -> None:
        """Stop the clock and show the answer.

        Args:
            seconds: Since the prompt was shown; ``None`` when that is not known.
        """
        if not self.shown:
            self.shown = True
            self.seconds = seconds if seconds is not None and seconds <= AWAY_SECONDS else None

    def hint(self, seconds: float | None) -> bool:
        """Show one step of hint more; ``False`` when there is nothing more to show.

        The last step is the answer itself.

        Args:
            seconds: Since the prompt was shown; ``None`` when that is not known.
        """
        has_key = self.asked.tune.key is not None
        has_more = self.start is not None or self.asked.prompt is Prompt.WHAT
        for step in range(self.hints + 1, WHOLE + 1):
            if has_key if step == KEY_HINT else has_more:
                self.hints = step
                if step == WHOLE:
                    self.show(seconds)
                return True
        return False

    @property
    def notes_hinted(self) -> int:
        """Notes of the start that the hints so far show."""
        if self.start is None or self.hints < FIRST_NOTE:
            return 0
        return {FIRST_NOTE: 1, FIRST_THREE: 3}.get(self.hints, len(self.start.letters))

    def suggested(self) -> Level | None:
        """What the clock, the hints and the marks suggest; ``None`` without a measured time.

        Example:
            At most 3 s without a hint is "would kick it off", at most 10 s "would find it".
        """
        if self.hints:
            return HINT_CAP
        if self.seconds is None:
            return None
        if self.seconds <= KICK_OFF_SECONDS:
            level = Level.KICK_OFF
        elif self.seconds <= FIND_SECONDS:
            level = Level.FIND
        else:
            level = Level.JOIN_IN if self.seconds <= SIT_OUT_SECONDS else Level.SIT_OUT
        if self.wrong_key:
            level = min(level, Level.FIND)
        if self.strayed_into[0]:
            level = min(level, Level.JOIN_IN)
        return level

    def strand_of(self, letter: str) -> str:
        """Return the strand asked for that a letter stands for, empty for none.

        ``"k"`` is the key, ``"a"`` the A start.
        """
        return next((one for one in self.asked.strands if one[0].lower() == letter), "")

    def choose_strand(self, strand: str) -> None:
        """Let the next level be for one strand; chosen again it is let go."""
        self.strand = "" if self.strand == strand else strand

    def take(self, level: Level) -> bool:
        """Give a level; ``True`` when every strand has one and the prompt is answered.

        Raises:
            ValueError: The level is above ``cap``.
        """
        if level > self.cap:
            raise ValueError(level)
        if self.strand:
            self.levels[self.strand] = level
            self.strand = ""
            if any(strand not in self.levels for strand in self.asked.strands):
                return False
        self.rated = {strand: self.levels.get(strand, level) for strand in self.asked.strands}
        return True

    def again(self) -> None:
        """Make the levels open again after an undo; the answer stays shown.

        A level that a strand had of its own stays, unless all had: then none would be open.
        """
        if all(strand in self.levels for strand in self.asked.strands):
            self.levels.clear()
        self.rated.clear()
        self.strand = ""
        self.shown = True


def name_hint(title: str, step: int) -> str:
    """Return as much of a name as a step of hint gives away.

    >>> name_hint("Off to California", 2), name_hint("Off to California", 3)
    ('O…', 'O… t… C…')
    """
    words = title.split()
    shown = words[:1] if step <= FIRST_NOTE else words
    return " ".join(f"{word[0]}…" for word in shown)


def stray_choices(asked: Asked, rows: Iterable[TuneRow]) -> list[tuple[str, str, str]]:
    """Return the tunes a prompt may have turned into, likeliest first.

    Twins come first, then tunes of the same kind, of these the ones in the same key first.

    Returns:
        Identity, title and a word about each.
    """
    tune = asked.tune
    twins = {twin.tune for twin in asked.twins}
    others = sorted(
        (row.tune for row in rows if row.tune.uuid != tune.uuid),
        key=lambda one: (
            one.uuid not in twins,
            one.kind != tune.kind,
            one.key_short != tune.key_short,
        ),
    )
    return [
        (
            one.uuid,
            one.title,
            "begins alike" if one.uuid in twins else f"{one.kind} {one.key_short}",
        )
        for one in others
    ]
