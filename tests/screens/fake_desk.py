"""Invented memory over old printed tunes (titles: O'Neill's Music of Ireland, 1903)."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import NamedTuple

from tunememory.forecast.fitting import InUse
from tunememory.library.overview import FadingRow, TuneRow
from tunememory.library.starts import StartView
from tunememory.library.twins import Twin
from tunememory.music.key import Key
from tunememory.music.tune import Start, Status, Tune
from tunememory.practice.sitting import Step
from tunememory.practice.today import Fades, TodayView, TuneMark
from tunememory.recall.check import Level, Prompt, RoundKind
from tunememory.recall.state import Chance, Rated, State
from tunememory.rounds.planning import Asked, Planned
from tunememory.settings import Settings, checked
from tunememory.store.records import At

_STATES = ((0.8, State.SAFE), (0.5, State.FADING), (0.2, State.RUSTY), (0.0, State.LOST))

_BOOK = (
    # title, kind, key, chance, asked, A letters, A fingers
    ("Haste to the Wedding", "jig", "D", 0.97, True, "A F A A F A", "E1 D2 E1 E1 D2 E1"),
    ("The Boys of Bluehill", "hornpipe", "D", 0.91, True, "F A B A F A D", "D2 A0 A1 A0 D2 A0 D0"),
    ("Off to California", "hornpipe", "G", 0.42, True, "D G F G B A G", "A3 D3 D2 D3 A1 A0 D3"),
    ("The Irish Washerwoman", "jig", "G", 0.84, True, "d c B G G D", "A3 A2 A1 D3 D3 D0"),
    ("Miss McLeod's Reel", "reel", "G", 0.66, True, "G B d B G B d B", "D3 A1 A3 A1 D3 A1 A3 A1"),
    ("Soldier's Joy", "reel", "D", 0.88, True, "d B A F A F A F", "A3 A1 A0 D2 A0 D2 A0 D2"),
    ("The Flowers of Edinburgh", "reel", "G", 0.15, True, "G E D E G A B", "D3 D1 D0 D1 D3 A0 A1"),
    ("Garryowen", "jig", "G", 0.73, True, "d c B A G F", "A3 A2 A1 A0 D3 D2"),
    ("The Rakes of Mallow", "polka", "G", 0.95, True, "G B G B G B A G", "D3 A1 D3 A1 D3 A1 A0 D3"),
    ("The Blackbird", "hornpipe", "Ddor", 0.28, True, "D E F G A B c A", "D0 D1 D2 D3 A0 A1 A2 A0"),
    ("The Swallow's Tail", "reel", "Ador", 0.81, True, "E A A G A B c", "D1 A0 A0 D3 A0 A1 A2"),
    ("The Cook in the Kitchen", "jig", "Ador", 0.58, True, "A B c B A G", "A0 A1 A2 A1 A0 D3"),
    ("Drowsy Maggie", "reel", "Em", 0.9, True, "E B d B E B d B", "D1 A1 A3 A1 D1 A1 A3 A1"),
    ("Kitty of Coleraine", "jig", "A", 0.6, False, "E A c B A c", "D1 A0 A2 A1 A0 A2"),
    ("The Harvest Home", "hornpipe", "D", 0.5, False, "A d F A D F A d", "A0 A3 D2 A0 D0 D2 A0 A3"),
    ("Saddle the Pony", "jig", "G", 0.35, True, "G B A G B d", "D3 A1 A0 D3 A1 A3"),
)  # fmt: skip


def chance_of(value: float, *, asked: bool = True) -> Chance:
    state = next(state for line, state in _STATES if value >= line)
    return Chance(
        value, max(0.0, value - 0.15), min(1.0, value + 0.1), state if asked else State.NOT_ASKED
    )


def tune_of(number: int, title: str, kind: str, key: str) -> Tune:
    root, mode = key[0], {"": "major", "m": "minor", "dor": "dorian"}[key[1:]]
    return Tune(
        uuid=f"tune-{number}", titles=(title,), kind=kind, key=Key(root, mode),
        starts=(Start("A"), Start("B")),
    )  # fmt: skip


def start_of(part: str, letters: str, fingers: str) -> StartView:
    notes = tuple(letters.split())
    steps = tuple(str(1 + "CDEFGAB".index(note.upper())) for note in notes)
    return StartView(
        part, Start(part), notes, steps, tuple(fingers.split()), (4,) if len(notes) > 4 else ()
    )


class RoundSummary(NamedTuple):
    asked: int
    came: tuple[str, ...]
    would_not_come: tuple[str, ...]
    seconds: float


class FakeRun:
    """A round over the fake session; nothing is written."""

    def __init__(self, kind: RoundKind, asked: tuple[Asked, ...]) -> None:
        self.kind = kind
        self.waiting = list(asked)
        self.rated: list[tuple[Asked, dict[str, Level], dict[str, object]]] = []
        self.stopped = False

    @property
    def current(self) -> Asked | None:
        return self.waiting[0] if self.waiting else None

    @property
    def done(self) -> int:
        return len(self.rated)

    @property
    def left(self) -> int:
        return len(self.waiting)

    def rate(self, levels: dict[str, Level], **marks: object) -> Rated:
        asked = self.waiting.pop(0)
        self.rated.append((asked, dict(levels), marks))
        after = {1: 0.15, 2: 0.45, 3: 0.75, 4: 0.92}[min(levels.values())]
        return Rated(asked.chance, after, 0.8 * after)

    def skip(self) -> None:
        self.waiting.append(self.waiting.pop(0))

    def not_today(self) -> None:
        self.waiting.pop(0)

    def only_kind(self, kind: str) -> None:
        self.waiting = [asked for asked in self.waiting if asked.tune.kind == kind]

    def surprise(self) -> None:
        self.waiting[0] = self.waiting[-1]

    def undo(self) -> bool:
        if not self.rated:
            return False
        self.waiting.insert(0, self.rated.pop()[0])
        return True

    def stop(self) -> RoundSummary:
        self.stopped = True
        return self.summary()

    def summary(self) -> RoundSummary:
        came = tuple(a.tune.title for a, levels, _ in self.rated if min(levels.values()) >= 3)
        would_not = tuple(a.tune.title for a, levels, _ in self.rated if min(levels.values()) < 3)
        return RoundSummary(len(self.rated), came, would_not, 42.0)


class FakeDesk:
    """What a screen needs of the service, without a file."""

    def __init__(self, titles: dict[int, str] | None = None, *, empty: bool = False) -> None:
        self.path = Path("my.tunes")
        self.settings = Settings(usual_tuning="GDAE", standing_tuning="AEAE")
        self.saved: list[Settings] = []
        self.begun: list[FakeRun] = []
        self.reloaded = 0
        self.written_elsewhere = False
        self.at = At.FIRST
        self.note = "4 tunes in GDAE waiting (for 12 days)."
        book = () if empty else _BOOK
        self.tunes = [
            tune_of(number, (titles or {}).get(number, row[0]), row[1], row[2])
            for number, row in enumerate(book)
        ]
        self.book = book

    def day(self) -> date:
        return date(2026, 11, 24)

    def close(self) -> None:
        """Nothing is open."""

    def changed_elsewhere(self) -> bool:
        return self.written_elsewhere

    def reload(self) -> None:
        self.reloaded += 1
        self.written_elsewhere = False

    def save_settings(self, settings: Settings) -> None:
        self.settings = checked(settings)
        self.saved.append(settings)

    def guessed_with(self) -> InUse:
        return InUse(None, 0, other=False)

    def rows(self) -> tuple[TuneRow, ...]:
        return tuple(
            TuneRow(tune.uuid, tune.title, (), tune.kind, tune.key.short, "AEAE", Status.KEPT,
                    chance_of(row[3], asked=row[4]), tune.title.lower())
            for tune, row in zip(self.tunes, self.book, strict=True)
        )  # fmt: skip

    def fading(self, days_ahead: int = 0) -> tuple[FadingRow, ...]:
        weak = sorted(
            (
                row
                for row in self.rows()
                if row.chance.state in {State.FADING, State.RUSTY, State.LOST}
            ),
            key=lambda row: row.chance.chance,
        )
        return tuple(
            FadingRow(row.uuid, row.title, row.key, "B" if place % 2 else "A", row.chance)
            for place, row in enumerate(weak)
        )

    def marks(self) -> tuple[TuneMark, ...]:
        return tuple(
            TuneMark(tune.key.root, row[3], row[4])
            for tune, row in zip(self.tunes, self.book, strict=True)
        )

    def today(self) -> TodayView:
        rows = self.rows()
        counts = {state: sum(row.chance.state is state for row in rows) for state in State}
        asked = len(self.asked())
        return TodayView(
            self.day(),
            "AEAE",
            (
                Step(RoundKind.FIRST, 4.0 if asked else 0.0, asked, done=bool(self.begun)),
                Step(RoundKind.LAST, 1.5 if asked else 0.0, min(asked, 5), done=False),
            ),
            tuple(Fades(row.title, row.strand, row.chance.chance) for row in self.fading()),
            self.marks(),
            tuple((state.value, number) for state, number in counts.items() if number),
            self.note if rows else "",
            coming_back=False,
            at=self.at,
            practice=3 if rows else 0,
        )

    def go_to(self, step: At) -> None:
        self.at = step

    def asked(self) -> tuple[Asked, ...]:
        found = []
        for place, (tune, row) in enumerate(zip(self.tunes, self.book, strict=True)):
            prompt = Prompt.WHAT if place % 3 == 1 else Prompt.HOW
            strands = ("name",) if prompt is Prompt.WHAT else ("key", "A", "B")
            starts = (
                start_of("A", row[5], row[6]),
                start_of("B", " ".join(row[5].split()[::-1]), " ".join(row[6].split()[::-1])),
            )
            other = self.tunes[(place + 1) % len(self.tunes)]
            twins = (Twin(other.uuid, other.title, "A", "A", 5, 0.1),) if place % 3 == 0 else ()
            found.append(Asked(tune, prompt, strands, row[3], "", starts, twins, "AEAE"))
        return tuple(found[2:])

    def plan(self, kind: RoundKind, minutes: float | None = None, tuning: str | None = None,
             only_kind: str | None = None) -> Planned:  # fmt: skip
        return Planned(kind, self.day(), "AEAE", 4.0, self.asked(), "", coming_back=False)

    def begin(self, planned: Planned) -> FakeRun:
        run = FakeRun(planned.kind, planned.asked)
        self.begun.append(run)
        return run
