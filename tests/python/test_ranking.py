"""Places on the board against an independent computation: scipy.stats.rankdata, whose method `min` is
standard competition ranking (equals share a place and the next is skipped).
"""

import random

from scipy.stats import rankdata

# Segments: 0 lead-in, 1 work, 2 rest, 3 work.
SHEET = "# Board\n\n## One: AMRAP 4 min\n\n- 11 squat\n- 8 sit-up\n\n## Rest 1 min\n\n## Two: AMRAP 4 min\n\n- 7 push-up\n- 5 burpee\n"
WORK = (1, 3)
ATHLETES = 12
BOARDS = 8


def standard_places(keys):
    """The place of each of some keys, least first; none where there is none."""
    known = [key for key in keys if key is not None]
    order = {key: number for number, key in enumerate(sorted(set(known)))}
    ranks = iter(rankdata([order[key] for key in known], method="min"))
    return [None if key is None else int(next(ranks)) for key in keys]


def whole_class(by_piece):
    """Sum of places, least first; a piece that was missed is one place behind all who scored it; equal
    sums by the better best place, then the next best (the project's rule 4.4)."""
    scored = [sum(place is not None for place in places) for places in by_piece]
    keys = []
    for own in zip(*by_piece, strict=True):
        if all(place is None for place in own):
            keys.append(None)
            continue
        places = [of + 1 if place is None else place for place, of in zip(own, scored, strict=True)]
        keys.append((sum(places), *sorted(places)))
    return standard_places(keys)


def test_the_independent_computation_itself():
    # The worked example of rule 4.4: A 1 + 3, B 2 + 2, C 3 + 1, D 4 + 4.
    assert whole_class([[1, 2, 3, 4], [3, 2, 1, 4]]) == [1, 3, 1, 4]
    assert standard_places([-100, -90, -90, -80]) == [1, 2, 2, 4]


def test_places_are_those_of_scipy(house):
    chance = random.Random(20_240_501)
    house.open(SHEET)
    with house.coach() as coach:
        for number in range(ATHLETES):
            answer = coach.ask("add-athlete", name=f"Crew {number + 1}", at_home=False, here=True)
            assert answer["outcome"] == "done", answer
        coach.until("all are in", lambda: len(coach.state["rows"]) == ATHLETES)
        athletes = [row["athlete"] for row in coach.state["rows"]]
        coach.call("start")
        while coach.phase()["segment"] < WORK[1]:
            coach.call("next")

        tallies = [[None] * ATHLETES for _ in WORK]
        for _ in range(BOARDS):
            # Some change, and some never get a tally; the few values make for many ties.
            for who in chance.sample(range(ATHLETES - 2), 6):
                piece = chance.randrange(len(WORK))
                tally = {"kind": "rounds", "rounds": chance.randint(3, 5), "extra": chance.choice([0, 0, 4])}
                answer = coach.ask("set-tally", athlete=athletes[who], segment=WORK[piece], tally=tally)
                assert answer["outcome"] == "done", answer
                tallies[piece][who] = tally
            by_piece = [
                standard_places([tally and (-tally["rounds"], -tally["extra"]) for tally in own]) for own in tallies
            ]
            expected = list(zip(*by_piece, whole_class(by_piece), strict=True))

            def board():
                rows = [coach.row(athlete) for athlete in athletes]
                return [(*(score["place"] for score in row["scores"]), row["overall"]) for row in rows]

            def tallied():
                rows = [coach.row(athlete) for athlete in athletes]
                return [[row["scores"][piece]["tally"] for row in rows] for piece in range(len(WORK))]

            coach.until("the board shows all tallies", lambda: tallied() == tallies)
            assert board() == expected
