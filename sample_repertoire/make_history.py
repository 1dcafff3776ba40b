"""Write history.csv, the invented history of the Saltpan Hall repertoire.

Run it as a script; it reads saltpan_hall.abc beside it and writes history.csv there, the same
to the letter every time. Nobody's practice is in it: a small simulated player forgets as a power
of time, learns more from what was in doubt, has good and bad days, leaves her fiddle in one
tuning for weeks, and does not play for five weeks in summer. Every number below is invented.
"""

from __future__ import annotations

import csv
import io
import json
import math
import random
import re
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

SEED = 165
DAYS = 213
"""Seven months; day 0 is the first."""

GAP = range(112, 148)
"""Summer: no fiddle for five weeks and a day."""

PLAYS = 0.7
"""Share of the other days on which she plays."""

LAPSES = 0.02
"""Share of strands that go astray for no reason to do with memory."""

USUAL = "GDAE"
HEADER = (
    "days_before_end,time,round_kind,round,tune,prompt,levels,seconds,hints,wrong_key,strayed_into"
)

STARTS_LAST = {1: 55, 2: 18, 3: 26, 4: 12, 5: 150, 6: 45, 7: 160, 8: 140, 9: 50, 10: 34, 11: 45,
               12: 18, 13: 34, 14: 12, 15: 70, 16: 18, 17: 130, 19: 170, 20: 60, 21: 45, 22: 110,
               23: 12, 24: 90, 25: 16, 27: 14, 28: 22, 30: 80, 31: 100, 32: 75, 34: 12, 35: 60,
               36: 65}  # fmt: skip
"""Days each tune's starts can come to last with this player: her old friends and her trouble."""

NAMES_LAST = {2: 5, 9: 9, 10: 8, 11: 12, 12: 6, 16: 8, 23: 6, 24: 12, 25: 5, 28: 8, 32: 15, 36: 20}
"""The same for names where they are weaker than the starts; the others last as long again."""

RESTED = {20: 66, 35: 74}
"""Day from which a tune was left to rest."""

LEFT_STANDING = {"AEAE": 33, "GDGD": 61, "ADAE": 13}
"""Days before the end from which the fiddle was not put in that tuning again."""

LEFT_ALONE = {13: 41, 21: 36, 23: 38, 28: 27, 32: 33, 34: 49, 36: 47, 15: 29}
"""Days before the end from which a tune was passed over while others were got ready."""

TWINS = {9: 12, 12: 9, 10: 14, 14: 10, 24: 25, 25: 24}


@dataclass
class Piece:
    """A tune as the simulated player has it: log of the days each strand lasts."""

    number: int
    tuning: str
    asked: tuple[str, ...]
    limit: dict[str, float]
    lasts: dict[str, float]
    seen: dict[str, float]
    came: int
    every: float = 3.0
    checks: int = 0
    met: dict[str, float] = field(default_factory=dict)


class Player:
    """The simulated player and what she writes down."""

    def __init__(self, pieces: dict[int, Piece]) -> None:
        self.pieces = pieces
        self.dice = random.Random(SEED)  # noqa: S311 - invented data, not a secret
        self.rounds = 0
        self.rows: list[tuple[object, ...]] = []
        self.form = 0.0
        self.took = 0.0
        self.last_in: dict[str, int] = {}

    def normal(self) -> float:
        """A standard normal number (Box and Muller 1958)."""
        return math.sqrt(-2.0 * math.log(1.0 - self.dice.random())) * math.cos(
            2.0 * math.pi * self.dice.random()
        )

    def live(self) -> None:
        """Go through the months."""
        for day in range(DAYS):
            self.drift(day)
            if day in GAP or (day not in {0, DAYS - 1} and self.dice.random() > PLAYS):
                continue
            self.form = 0.25 * self.normal()
            self.evening(day)

    def drift(self, day: int) -> None:
        """Other tunes in the ear wear memories a little, more so in the summer."""
        wear = 0.008 if day in GAP else 0.002
        for piece in self.pieces.values():
            for strand in piece.lasts:
                piece.lasts[strand] -= wear

    def evening(self, day: int) -> None:
        """A first round, often a last one; now and then a loose one or a session."""
        morning = self.dice.random() < 0.15
        hour = 7.1 + 0.5 * self.dice.random() if morning else 18.6 + 2.0 * self.dice.random()
        end, failed = self.first_round(day, hour)
        if failed and self.dice.random() < 0.75:
            end = self.last_round(day, end + 0.5 + 0.3 * self.dice.random(), failed)
        if self.dice.random() < 0.22:
            open_to = [t for t, left in LEFT_STANDING.items() if DAYS - 1 - day >= left]
            if open_to:
                longest = min(open_to, key=lambda tuning: self.last_in.get(tuning, -1))
                self.loose_round(day, end + 0.2, longest)
        if not morning and self.dice.random() < 0.1:
            self.session(day, max(end + 0.6, 21.4))

    def first_round(self, day: int, hour: float) -> tuple[float, list[tuple[Piece, str]]]:
        """Ask the most pressing tunes of the usual tuning; return the end and what failed."""
        self.rounds += 1
        here = [p for p in self.at_hand(day) if p.tuning == USUAL]
        if day - GAP.stop in range(12):
            here.sort(key=lambda p: (p.seen["A"] >= GAP.stop, -p.lasts["A"]))
        else:
            here.sort(key=lambda p: -self.pressing(p, day))
        failed = []
        taken: list[int] = []
        enough = self.dice.choice((7, 8, 8, 8, 9))
        for piece in here:
            twin = TWINS.get(piece.number)
            if twin in taken and min(piece.checks, self.pieces[twin].checks) < 6:
                continue
            taken.append(piece.number)
            prompt = self.prompt(piece, day)
            low = self.check(day, hour, "first", piece, prompt)
            hour += (18.0 + 14.0 * self.dice.random()) / 3600.0 + self.took / 3600.0
            if low <= 2:
                failed.append((piece, prompt))
            if len(taken) == enough:
                break
        return hour, failed

    def last_round(self, day: int, hour: float, failed: list[tuple[Piece, str]]) -> float:
        """Once more what would not come, and what is being learned."""
        self.rounds += 1
        again = failed[:4]
        named = {piece.number for piece, _ in again}
        for number in (14, 27):
            piece = self.pieces[number]
            if len(again) < 4 and piece.checks and number not in named:
                again.append((piece, "how"))
        for piece, prompt in again:
            self.check(day, hour, "last", piece, prompt)
            hour += (14.0 + 10.0 * self.dice.random()) / 3600.0 + self.took / 3600.0
        return hour

    def loose_round(self, day: int, hour: float, tuning: str) -> None:
        """The fiddle is put into another tuning for a while."""
        self.rounds += 1
        self.last_in[tuning] = day
        for piece in self.at_hand(day):
            if piece.tuning == tuning:
                for prompt in ("how", "what") if self.dice.random() < 0.4 else ("how",):
                    self.check(day, hour, "loose", piece, prompt)
                    hour += (18.0 + 14.0 * self.dice.random()) / 3600.0 + self.took / 3600.0

    def session(self, day: int, hour: float) -> None:
        """A few tunes that were called for in company, written down at home."""
        ready = [p for p in self.at_hand(day) if p.tuning == USUAL and p.checks > 3]
        self.dice.shuffle(ready)
        for piece in ready[: 2 + (self.dice.random() < 0.5)]:
            self.check(day, hour, "away", piece, "how")
            hour += 0.1 + 0.2 * self.dice.random()

    def at_hand(self, day: int) -> list[Piece]:
        """Tunes that may be asked on a day."""
        return [
            piece
            for piece in self.pieces.values()
            if piece.came <= day < RESTED.get(piece.number, DAYS)
            and day <= DAYS - 1 - LEFT_ALONE.get(piece.number, 0)
        ]

    def pressing(self, piece: Piece, day: int) -> float:
        """How much longer than its usual stretch a tune has waited."""
        return (day - piece.seen["A"]) / piece.every + 0.25 * self.dice.random()

    def prompt(self, piece: Piece, day: int) -> str:
        """From the name three times in four, from the start otherwise."""
        if piece.checks < 2:
            return "how"
        waited = (day - piece.met.get("what", -9.0)) / max(day - piece.met.get("how", -9.0), 1.0)
        return "what" if self.dice.random() < min(0.6, 0.16 * waited) else "how"

    def check(self, day: int, hour: float, kind: str, piece: Piece, prompt: str) -> int:
        """Ask one prompt, write the row, learn; return the lowest level."""
        at = day + hour / 24.0
        strands = ("name",) if prompt == "what" else piece.asked
        shared = self.form + 0.25 * self.normal()
        levels = {s: self.level(piece, s, at, shared) for s in strands}
        if prompt == "how" and self.dice.random() < 0.72:
            # The quick way: one level for the whole tune, by how its first part came.
            whole = min(levels["A"], levels["key"] + 1, 4)
            levels = dict.fromkeys(strands, whole)
        low = min(levels.values())
        # A hint is asked for when nothing comes; then no strand can be better than level 2.
        hints = self.hints(low, prompt) if max(levels.values()) <= 2 else 0
        self.took = self.seconds(levels[strands[-1] if prompt == "what" else "A"], prompt)
        wrong = levels.get("key", 4) in {2, 3} and self.dice.random() < 0.14
        strayed = ""
        if piece.number in TWINS and self.pieces[TWINS[piece.number]].checks and low <= 3:
            strayed = str(TWINS[piece.number]) if self.dice.random() < 0.3 else ""
        self.write(day, hour, kind, piece, prompt, levels, hints, wrong=wrong, strayed=strayed)
        self.learn(piece, levels, at)
        if kind != "last":
            self.stretch(piece, low)
        piece.checks += 1
        piece.met[prompt] = at
        return low

    def level(self, piece: Piece, strand: str, at: float, shared: float) -> int:
        """Level that comes: power-law forgetting with good and bad days."""
        if self.dice.random() < LAPSES:
            return 1 + int(3.0 * self.dice.random())
        waited = max(at - piece.seen[strand], 0.02)
        z = 1.1 * (piece.lasts[strand] - math.log(waited)) + shared + 0.3 * self.normal()
        return 1 + sum(self.dice.random() < 1.0 / (1.0 + math.exp(c - z)) for c in (-1.3, 0.0, 1.2))

    def learn(self, piece: Piece, levels: dict[str, int], at: float) -> None:
        """Seeing or finding the answer makes a strand last longer, up to its limit."""
        for strand, level in levels.items():
            waited = max(at - piece.seen[strand], 0.02)
            p = 1.0 / (1.0 + math.exp(-1.1 * (piece.lasts[strand] - math.log(waited))))
            room = max(piece.limit[strand] - piece.lasts[strand], 0.0)
            gain = (0.7 if level >= 3 else 0.35) * (1.0 - p) ** 0.6
            piece.lasts[strand] += min(gain, 0.6 * room)
            piece.seen[strand] = at

    def stretch(self, piece: Piece, low: int) -> None:
        """What came is left for longer, what did not comes round sooner."""
        piece.every *= {4: 1.6, 3: 1.15, 2: 0.65, 1: 0.5}[low]
        piece.every = min(max(piece.every, 2.5), 30.0)

    def hints(self, low: int, prompt: str) -> int:
        """Steps of hint shown, 0 to 4."""
        if low >= 3:
            return 0
        most = 2 if prompt == "what" else 3
        return min(1 + int(most * self.dice.random()) + (low == 1), 4)

    def seconds(self, low: int, prompt: str) -> float:
        """Seconds to "I have it"."""
        middle, spread, least, most = {
            4: (2.0, 0.3, 0.8, 3.0),
            3: (5.5, 0.35, 3.1, 10.0),
            2: (13.0, 0.35, 6.0, 30.0),
            1: (21.0, 0.3, 10.0, 45.0),
        }[low]
        faster = 0.85 if prompt == "what" else 1.0
        took = faster * middle * math.exp(spread * self.normal())
        return min(max(took, least), most)

    def write(
        self, day: int, hour: float, kind: str, piece: Piece, prompt: str,
        levels: dict[str, int], hints: int, *, wrong: bool, strayed: str,
    ) -> None:  # fmt: skip
        """One row. An hour past midnight does not occur."""
        moment = int(min(hour, 23.95) * 3600)
        away = kind == "away"
        self.rows.append(
            (
                DAYS - 1 - day,
                f"{moment // 3600:02}:{moment // 60 % 60:02}:{moment % 60:02}",
                kind,
                "" if away else self.rounds,
                piece.number,
                prompt,
                " ".join(f"{strand}:{level}" for strand, level in levels.items()),
                "" if away else f"{self.took:.1f}",
                0 if away else hints,
                int(wrong),
                strayed,
            )
        )


def letters(strings: list[int]) -> str:
    """Letters of a tuning given as MIDI numbers; every string here is a natural note."""
    return "".join("C D EF G A B"[number % 12] for number in strings)


def read_pieces(abc: str, came_in: dict[str, int]) -> dict[int, Piece]:
    """Take from the tune book what the player needs: numbers, tunings and parts."""
    pieces = {}
    for text in re.split(r"(?m)^(?=X:)", abc)[1:]:
        number = int(text.split("\n", 1)[0][2:])
        parts = tuple(re.findall(r"(?m)^P:([A-Z])", text))
        if number not in STARTS_LAST or not parts:
            continue
        strings = re.search(r"(?m)^%%tunememory-tuning (\[.*\])", text)
        asked = ("key", *parts)
        days = STARTS_LAST[number]
        limit = {"key": math.log(1.6 * days), "name": math.log(NAMES_LAST.get(number, 1.5 * days))}
        limit |= {part: math.log(days / (1.0 + 0.25 * i)) for i, part in enumerate(parts)}
        came = DAYS - 1 - came_in.get(str(number), DAYS - 1)
        known = 1.2 if came else 0.45
        pieces[number] = Piece(
            number=number,
            tuning=letters(json.loads(strings[1])) if strings else USUAL,
            asked=asked,
            limit=limit,
            lasts={s: v - known for s, v in limit.items()},
            seen=dict.fromkeys(limit, came - (0.2 if came else 4.0)),
            came=came,
        )
    return pieces


def history(abc: str, came_in: dict[str, int]) -> str:
    """The whole of history.csv."""
    player = Player(read_pieces(abc, came_in))
    player.live()
    out = io.StringIO()
    out.write(HEADER + "\n")
    csv.writer(out, lineterminator="\n").writerows(player.rows)
    return out.getvalue()


def main() -> None:
    """Write history.csv anew."""
    here = Path(__file__).parent
    came_in = tomllib.loads((here / "dates_and_sets.toml").read_text(encoding="utf-8"))["came_in"]
    text = history((here / "saltpan_hall.abc").read_text(encoding="utf-8"), came_in)
    (here / "history.csv").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
