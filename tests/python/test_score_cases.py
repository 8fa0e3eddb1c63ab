"""The recorded cases of places, splits and what is read from them, worked out once more by numpy and
scipy. The tests of floorbell-core hold the program to the same files.
"""

import json
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import rankdata

CASES = Path(__file__).parents[2] / "display-client" / "cases"
BOARDS = json.loads((CASES / "places.json").read_text())
READINGS = json.loads((CASES / "review.json").read_text())
MINUTE = 60_000_000  # microseconds


def standard_places(keys):
    """Places by `rankdata`, least key first; none where there is no key. Keys are rows of numbers."""
    known = [key for key in keys if key is not None]
    if not known:
        return [None] * len(keys)
    # Rows that are equal get one number, and the numbers are in the order of the rows.
    _, order = np.unique(np.array(known), axis=0, return_inverse=True)
    ranks = iter(rankdata(order.ravel(), method="min"))
    return [None if key is None else int(next(ranks)) for key in keys]


def key(tally):
    """What ranks a tally (rule 4.1): the least row of numbers comes first."""
    match tally:
        case None:
            return None
        case {"kind": "rounds", "rounds": rounds, "extra": extra}:
            return (-rounds, -extra)
        case {"kind": "finished", "time": time}:
            return (0, time)
        case {"kind": "at-cap", "reps": reps}:
            return (1, -reps)
        case {"kind": "load", "grams": grams}:
            return (0, -grams)
        case {"kind": "count", "amount": amount}:
            return (0, -amount)


@pytest.mark.parametrize("case", BOARDS["boards"], ids=lambda case: case["name"])
def test_places_are_those_of_scipy(case):
    assert standard_places([key(tally) for tally in case["tallies"]]) == case["places"]


@pytest.mark.parametrize("case", BOARDS["whole_class"], ids=lambda case: case["name"])
def test_the_whole_class_is_ranked_by_sums_of_places(case):
    pieces = np.array(case["by_piece"], dtype=float)  # none is nan
    scored = pieces[(~np.isnan(pieces)).any(axis=1)]
    missed = (~np.isnan(scored)).sum(axis=1) + 1
    filled = np.where(np.isnan(scored), missed[:, None], scored)
    keys = np.vstack([filled.sum(axis=0), np.sort(filled, axis=0)]).T
    absent = np.isnan(pieces).all(axis=0)
    assert standard_places([None if gone else row for gone, row in zip(absent, keys, strict=True)]) == case["overall"]


@pytest.mark.parametrize("case", READINGS["splits"], ids=lambda case: case["name"])
def test_splits_are_the_differences_of_the_taps(case):
    assert np.diff(case["taps"], prepend=0).tolist() == case["splits"]


@pytest.mark.parametrize("case", READINGS["readings"], ids=lambda case: case["name"])
def test_what_is_read_from_splits(case):
    splits = np.array(case["splits"], dtype=float)
    median = np.median(splits) if splits.size else None
    steadiness = np.std(splits, ddof=1) / np.mean(splits) if splits.size > 1 else None
    third = splits.size // 3
    fade = splits[-third:].mean() / splits[:third].mean() - 1 if third else None
    read = {"median": median, "steadiness": steadiness, "fade": fade}
    for what, value in read.items():
        # A median between two is rounded down to a microsecond.
        tolerance = 0.6 if what == "median" else 1e-9
        assert case[what] == (None if value is None else pytest.approx(value, abs=tolerance)), what


def test_the_worked_splits_are_those_of_the_published_libraries():
    """Computed outside the project with numpy 2.4.6: mean 64 s, sample SD 5.33854 s, 8.34147 % of it."""
    worked = next(case for case in READINGS["readings"] if case["name"] == "58, 61, 63, 66, 72 s")
    assert worked["steadiness"] == pytest.approx(0.0834147, abs=1e-7)
    assert worked["median"] == 63_000_000


@pytest.mark.parametrize("case", READINGS["paces"], ids=lambda case: case["name"])
def test_on_pace_for(case):
    """Rule 5.2: rounds done, and the time left over the median of the last three splits."""
    usual = np.floor(np.median(case["splits"][-3:])) if case["splits"] else 0
    if usual <= 0:
        assert case["tally"] is None
        return
    left = max(case["window"] - case["last"], 0)
    more, part = np.divmod(left, usual)
    extra = np.floor(part * case["round_reps"] / usual)
    assert case["tally"] == {"kind": "rounds", "rounds": case["rounds"] + more, "extra": extra}


@pytest.mark.parametrize("case", READINGS["rates"], ids=lambda case: case["name"])
def test_on_rate_for(case):
    """Rule 3.9: what was done, and the rate of the last minute for the time left."""
    more = np.floor(case["in_last_minute"] * max(case["left"], 0) / MINUTE)
    assert case["on_pace_for"] == case["done"] + more
