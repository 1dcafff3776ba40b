import random
import subprocess
import sys
from pathlib import Path
from time import perf_counter

import pytest

from tests.store.making import ROOT, identity
from tunememory.store.repertoire import Repertoire
from tunememory.store.verify import verify

WRITE = """
import sys
from pathlib import Path
from tests.store.making import a_check
from tunememory.store.repertoire import Repertoire
with Repertoire.open(Path(sys.argv[1]), create=False) as repertoire:
    for number in range(int(sys.argv[2]), 10**6):
        check = a_check(number, tune=1 + number % 2)
        repertoire.checks.record(check, check.uuid.encode())
        print(check.uuid, flush=True)
"""


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_killed_program_loses_no_check_it_had_confirmed(path: Path, seed: int) -> None:
    """SIGKILL at a random moment of its writing, three times over on one file."""
    chance = random.Random(seed)
    confirmed: list[str] = []
    for turn in range(3):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITE, str(path), str(10_000 * (turn + 1))],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert writer.stdout is not None
        confirmed.extend(writer.stdout.readline().strip() for _ in range(chance.randrange(1, 60)))
        until = perf_counter() + chance.uniform(0, 0.002)  # anywhere within the next write
        while perf_counter() < until:
            pass
        writer.kill()
        confirmed.extend(line.strip() for line in writer.stdout if line.endswith("\n"))
        writer.stdout.close()
        writer.wait()

        with Repertoire.open(path, create=False) as repertoire:
            assert verify(repertoire) == []
            kept = repertoire.checks.all()
            assert set(confirmed) <= {check.uuid for check in kept}
            # At most the one write that was under way is there without having been confirmed.
            assert len(kept) - 1 - len(confirmed) <= turn + 1
            for tune in (identity(1), identity(2)):
                last = repertoire.checks.all(tune)[-1]
                assert repertoire.beliefs.all()[tune] == last.uuid.encode()


MAKE = """
import sys
from pathlib import Path
from tunememory.store.repertoire import Repertoire
print("begun", flush=True)
Repertoire.open(Path(sys.argv[1])).close()
print("made", flush=True)
"""


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_program_killed_while_making_the_file_leaves_one_that_opens(
    tmp_path: Path, seed: int
) -> None:
    chance = random.Random(seed)
    path = tmp_path / "new.tunes"
    maker = subprocess.Popen(
        [sys.executable, "-c", MAKE, str(path)], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )
    assert maker.stdout is not None
    assert maker.stdout.readline() == "begun\n"
    while not path.exists() and maker.poll() is None:
        pass
    until = perf_counter() + chance.uniform(0, 0.02)
    while perf_counter() < until:
        pass
    maker.kill()
    maker.stdout.close()
    maker.wait()
    with Repertoire.open(path) as repertoire:
        assert verify(repertoire) == []
