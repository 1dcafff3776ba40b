import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.finding import NameIndex

TUNES = (
    ("1", ("The Humours of Glen", "Rowan Lane")),
    ("2", ("Banish Misfortune",)),
    ("3", ("An Lá Breá",)),
    ("4", ("Miss O'Neill's Fancy",)),
    ("5", ("Fancy That",)),
    ("6", ("The Glen Road", "Fancy")),
    ("7", ()),
    ("8", ("???",)),
    ("9", ("Soldier's Joy",)),
    ("10", ("The",)),
)
INDEX = NameIndex.of(TUNES)


def found(words, limit=20):
    return [(named.tune, named.edits) for named in INDEX.find(words, limit)]


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        # Three letters of any word of any title.
        ("hum", ["1"]),
        ("mis", ["4", "2"]),
        ("row", ["1"]),
        ("LA BREA", ["3"]),
        ("brea", ["3"]),
        ("oneil", ["4"]),
        ("O’Neill", ["4"]),
        ("soldiers", ["9"]),
        # All words, in any order, articles forgiven.
        ("glen hum", ["1"]),
        ("the glen road", ["6"]),
        ("hum misfortune", []),
        # An article alone is looked for like any word.
        ("the", ["10", "6", "1"]),
        # The whole title first, then titles that begin with it, the main title before others.
        ("fancy", ["6", "5", "4"]),
        ("glen", ["6", "1"]),
        ("", []),
        ("???", []),
    ],
)
def test_beginnings_of_words(words, wanted):
    assert [tune for tune, _edits in found(words)] == wanted
    assert all(edits == 0 for _tune, edits in found(words))


@pytest.mark.parametrize(
    ("words", "tune", "edits"),
    [
        ("humors of", "1", 1),
        ("banihs", "2", 1),
        ("misfurtoun", "2", 2),
        ("soldeirs joy", "9", 1),
        ("faancy road", None, None),
        ("hmu", None, None),
        ("humuors glne", "1", 2),
    ],
)
def test_small_misspellings(words, tune, edits):
    assert found(words)[:1] == ([(tune, edits)] if tune else [])


def test_misspellings_are_forgiven_only_where_nothing_fits():
    index = NameIndex.of([("1", ["Fairy"]), ("2", ["Hairy"])])
    assert [named.tune for named in index.find("fairy")] == ["1"]
    assert {named.tune for named in index.find("dairy")} == {"1", "2"}


def test_the_title_that_fitted_is_named():
    assert [named.title for named in INDEX.find("rowan")] == ["Rowan Lane"]


def test_no_more_than_the_limit():
    assert len(INDEX.find("fancy", 2)) == 2
    assert NameIndex.of([]).find("fancy") == ()


def edit_distance(one, other):
    """Optimal string alignment distance, from its definition."""
    table = {(i, 0): i for i in range(len(one) + 1)} | {(0, j): j for j in range(len(other) + 1)}
    for i in range(1, len(one) + 1):
        for j in range(1, len(other) + 1):
            cost = min(
                table[i - 1, j] + 1,
                table[i, j - 1] + 1,
                table[i - 1, j - 1] + (one[i - 1] != other[j - 1]),
            )
            if i > 1 and j > 1 and one[i - 1] == other[j - 2] and one[i - 2] == other[j - 1]:
                cost = min(cost, table[i - 2, j - 2] + 1)
            table[i, j] = cost
    return table[len(one), len(other)]


WORDS = st.text(alphabet="abcd", min_size=1, max_size=11)


@given(st.lists(WORDS, min_size=1, max_size=12), WORDS.filter(lambda word: word != "a"))
def test_every_word_within_the_limit_is_found_and_no_other(words, wanted):
    """Against the distance of every beginning of every word, from its definition."""
    index = NameIndex.of([(str(number), [word + "x"]) for number, word in enumerate(words)])
    words = [word + "x" for word in words]
    nearest = {
        str(number): min(edit_distance(wanted, word[:end]) for end in range(len(word) + 1))
        for number, word in enumerate(words)
    }
    limit = 2 if len(wanted) >= 8 else 1 if len(wanted) >= 4 else 0
    begins = {str(number): 0 for number, word in enumerate(words) if word.startswith(wanted)}
    expected = begins or {tune: edits for tune, edits in nearest.items() if edits <= limit}
    assert {named.tune: named.edits for named in index.find(wanted)} == expected


@given(st.lists(st.text(max_size=30), max_size=8), st.text(max_size=12))
def test_any_text_can_be_looked_for(titles, words):
    index = NameIndex.of([(str(number), [title]) for number, title in enumerate(titles)])
    assert len(index.find(words)) <= len(titles)


@given(st.text(alphabet=st.characters(categories=["L"]), min_size=3, max_size=12))
def test_a_title_is_found_by_itself(title):
    index = NameIndex.of([("1", [title])])
    assert [named.edits for named in index.find(title)] in ([0], [])
    assert index.find(title) or not any(character.isalnum() for character in title)
