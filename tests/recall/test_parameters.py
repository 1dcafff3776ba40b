import dataclasses

import pytest

from tunememory.recall.parameters import PRIOR, Parameters


def test_stored_and_read_back_equal():
    own = dataclasses.replace(PRIOR, slope=1.2345678901234567, gain=0.1)
    assert Parameters.from_dict(own.as_dict()) == own


def test_missing_names_take_the_prior_and_strange_ones_are_passed_over():
    assert Parameters.from_dict({"slope": 0.8, "what is this": 4.0}) == dataclasses.replace(
        PRIOR, slope=0.8
    )


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_a_value_that_is_no_number_is_refused_by_name(bad):
    with pytest.raises(ValueError, match="slope"):
        Parameters.from_dict({"slope": bad})
