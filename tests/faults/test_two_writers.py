from pathlib import Path

from tests.store.making import at_once, identity
from tunememory.store.repertoire import Repertoire
from tunememory.store.verify import verify

EACH = 100

COUNT = f"""
import sys
from pathlib import Path
from tests.store.making import a_check, identity
from tunememory.store.repertoire import Repertoire
first = int(sys.argv[2])
with Repertoire.open(Path(sys.argv[1]), create=False) as repertoire:
    sys.stdin.readline()
    for number in range(first, first + {EACH}):
        with repertoire.writing():
            seen = int(repertoire.beliefs.all()[identity(1)])
            repertoire.checks.record(a_check(number), b"%d" % (seen + 1))
"""


def test_two_windows_writing_at_once_lose_nothing(path: Path) -> None:
    """Each write reads what the last one left: a lost one would show in the count."""
    with Repertoire.open(path) as repertoire:
        repertoire.beliefs.save({identity(1): b"0"}, parameters_version=0)
    assert at_once(COUNT, (str(path), "1000"), (str(path), "2000")) == [("", "")] * 2
    with Repertoire.open(path) as repertoire:
        assert int(repertoire.beliefs.all()[identity(1)]) == 2 * EACH
        assert repertoire.checks.count() == 1 + 2 * EACH
        assert verify(repertoire) == []
