"""People who count together, and every way to count, by a client that was written from the protocol's page alone."""

import contextlib

import pytest

from device import Problem, ask_http

PAIRS = "# Pairs\n\n## Tide: AMRAP 4 min, in pairs\n\n- 11 squat\n- 8 push-up\n"
ALONE = "# Alone\n\n## Tide: AMRAP 4 min\n\n- 11 squat\n- 8 push-up\n"
WORK = 1

# Each piece has a lead-in and its work, as the clock waits at the end of each.
FORMATS = """# Formats

## Locks: 2 rounds for time, cap 6 min

- 11 squat
- 8 push-up

## Bells: every minute on the minute for 2 min

- 8 swing

## Anchor: build to a heavy set of 3 in 5 min

- deadlift

## Swell: max calories in 2 min

- row

## Pier: AMRAP 4 min

- carry 120 m

## Knots: quality for 3 min

- get-up
"""


@contextlib.contextmanager
def on_the_floor(house, sheet, *names):
    """A coach and phones in a class whose first work has begun."""
    opened = house.open(sheet)
    with contextlib.ExitStack() as devices:
        coach = devices.enter_context(house.coach())
        phones = [devices.enter_context(house.join(opened["code"], name)[0]) for name in names]
        coach.call("start")
        coach.call("next")
        begun = coach.state["clock"]["phase"]["anchor"]
        for phone in phones:
            phone.until("the phone shows work", lambda: phone.phase().get("segment") == WORK)
            phone.let_pass(begun)
        yield opened, coach, phones


def counted(kept):
    return kept["standing"] == "counted"


def test_two_phones_of_a_team_tap_one_round_within_50_ms_and_3_s(house):
    with on_the_floor(house, PAIRS, "Ansa", "Birk") as (_, coach, (ansa, birk)):
        one, other = ansa.welcome["athlete"], birk.welcome["athlete"]
        assert coach.ask("team", teams=[[one, other]])["outcome"] == "done"
        ansa.until("the team", lambda: [fellow["name"] for fellow in ansa.own["team"]] == ["Ansa", "Birk"])
        made = ansa.now()
        assert counted(ansa.tap(WORK))
        at_once = birk.tap(WORK)
        assert birk.now() - made < 1_000_000
        assert (at_once["why"], at_once["marked"]) == ("team-mate", True)
        birk.let_pass(made + 3_000_000)
        assert birk.tap(WORK)["why"] == "team-mate"
        birk.let_pass(made + 5_100_000)
        assert counted(birk.tap(WORK))
        tally = {"kind": "rounds", "rounds": 2, "extra": 0}
        for phone in (ansa, birk):
            phone.until("the shared tally", lambda: phone.window(WORK)["tally"] == tally)
            assert phone.window(WORK)["last_by"] == other
            assert phone.window(WORK)["turn"] == one
        coach.until("one team on the board", lambda: coach.row(other)["scores"][0]["tally"] == tally)
        assert [coach.row(athlete)["team"] for athlete in (one, other)] == [1, 1]


def test_a_count_is_handed_over_and_back(house):
    with on_the_floor(house, ALONE, "Ansa", "Birk") as (_, coach, (ansa, birk)):
        one, other = ansa.welcome["athlete"], birk.welcome["athlete"]
        refused = birk.tap(WORK, athlete=one)
        assert (refused["type"], refused["code"], refused["again"]) == ("not-kept", "not-yours", False)
        assert birk.ask("let-count", athlete=one, counter=other)["code"] == "not-yours"
        assert ansa.ask("let-count", athlete=one, counter=other)["outcome"] == "done"
        birk.until("for whom it counts", lambda: [it["name"] for it in birk.own["counts_for"]] == ["Ansa"])
        ansa.until("who counts", lambda: ansa.own["counter"] and ansa.own["counter"]["name"] == "Birk")
        handed = ansa.now()
        birk.let_pass(handed)
        assert counted(birk.tap(WORK, athlete=one))
        kept = ansa.tap(WORK)
        assert (kept["why"], kept["marked"]) == ("other-counts", True)
        assert birk.ask("let-count", athlete=one, counter=None)["outcome"] == "done"
        ansa.let_pass(birk.now())
        assert counted(ansa.tap(WORK))
        tally = {"kind": "rounds", "rounds": 2, "extra": 0}
        coach.until("the count", lambda: coach.row(one)["scores"][0]["tally"] == tally)
        assert coach.row(other)["scores"][0]["tally"] is None


def test_people_of_one_name_are_told_apart(house):
    with on_the_floor(house, ALONE, "Ida", "Ida") as (_, coach, (first, second)):
        assert [phone.own["name"] for phone in (first, second)] == ["Ida", "Ida 2"]
        assert [row["name"] for row in coach.state["rows"]] == ["Ida", "Ida 2"]
        assert counted(second.tap(WORK))
        coach.until("her round", lambda: coach.row(second.welcome["athlete"])["scores"][0]["tally"])
        assert coach.row(first.welcome["athlete"])["scores"][0]["tally"] is None


def test_scaled_in_mid_piece_keeps_the_rounds_apart(house):
    with on_the_floor(house, ALONE, "Ansa") as (_, coach, (ansa,)):
        athlete = ansa.welcome["athlete"]
        assert counted(ansa.tap(WORK))
        assert counted(ansa.tap(WORK, "round-before"))
        choice = {"scaled": True, "options": []}
        assert ansa.ask("choose", athlete=athlete, choice=choice)["outcome"] == "done"
        ansa.let_pass(ansa.now())
        assert counted(ansa.tap(WORK, "round-before"))
        ansa.until("three rounds", lambda: ansa.window(WORK)["tally"]["rounds"] == 3)
        assert ansa.window(WORK)["as_written"] == 2
        coach.until("scaled", lambda: coach.row(athlete)["scaled"])


def test_the_coach_settles_a_mark(house):
    with on_the_floor(house, ALONE, "Ansa") as (opened, coach, (ansa,)):
        athlete = ansa.welcome["athlete"]
        quick = ansa.tap(WORK)
        assert quick["mark"] == "quick"

        def marks():
            windows = [it["windows"] for it in coach.coach["people"] if it["athlete"] == athlete]
            return windows[0][0].get("marks", []) if windows and windows[0] else []

        mark = coach.until("the mark", marks)[0]
        settled = {"settle": "tap", "tap": mark["tap"], "counts": False}
        by_phone = ansa.ask("settle", athlete=athlete, segment=WORK, **settled)
        assert by_phone["code"] == "coach-only"
        assert coach.ask("settle", athlete=athlete, segment=WORK, **settled)["outcome"] == "done"
        coach.until("nothing is marked", lambda: not marks())
        coach.until("it does not count", lambda: coach.row(athlete)["scores"][0]["tally"] is None)
        path = f"/api/classes/{opened['class']}/history?athlete={athlete}&segment={WORK}"
        changes = ask_http(house.base, "GET", path, None, house.coach_token)["changes"]
        assert [(change["who"], change["what"]) for change in changes] == [("Ansa", "tap"), ("Coach", "settled")]


def test_every_way_to_count(house):
    with on_the_floor(house, FORMATS, "Ansa") as (_, coach, (ansa,)):
        athlete = ansa.welcome["athlete"]
        work = [at for at, segment in enumerate(coach.state["segments"]) if segment["kind"] == "work"]
        locks, bell_one, bell_two, anchor, swell, pier, knots = work

        def to(segment):
            # A jump into work has a lead-in of its own, which would take its time.
            if coach.state["segments"][segment - 1]["kind"] == "lead-in":
                coach.call("jump", to=segment - 1)
            coach.call("next")
            begun = coach.state["clock"]["phase"]["anchor"]
            ansa.until("the phone is there", lambda: ansa.phase().get("segment") == segment)
            # Two taps within 400 ms are one.
            ansa.let_pass(max(begun, ansa.now() + 450_000))

        def tally(segment):
            return (ansa.window(segment) or {}).get("tally")

        def comes_to(segment, **expected):
            ansa.until(f"{expected}", lambda: tally(segment) == expected)

        assert counted(ansa.tap(locks))
        comes_to(locks, kind="at-cap", reps=19)
        assert ansa.tap(locks, "attempt", grams=80_000, good=True)["why"] == "not-this-way"
        finish = ansa.tap(locks, "finish")
        assert counted(finish)
        comes_to(locks, kind="finished", time=finish["at"])
        assert ansa.tap(locks, "finish")["why"] == "already"

        for bell in (bell_one, bell_two):
            to(bell)
            assert counted(ansa.tap(bell))
            comes_to(bell, kind="made", made=1, of=1)
        made = {"kind": "made", "made": 2, "of": 2}
        coach.until("both made", lambda: coach.row(athlete)["scores"][1]["tally"] == made)

        to(anchor)
        for grams, good in ((80_000, True), (90_000, False), (0, True), (-15_000, True)):
            assert counted(ansa.tap(anchor, "attempt", grams=grams, good=good))
        comes_to(anchor, kind="load", grams=80_000)
        refused = ansa.tap(anchor, "attempt", grams=1_000_001, good=True)
        assert (refused["type"], refused["code"]) == ("not-kept", "out-of-range")
        assert "1000000" in refused["text"]

        to(swell)
        for amount in (1, 5, 10):
            assert counted(ansa.tap(swell, "amount", amount=amount))
        comes_to(swell, kind="count", amount=16)
        assert ansa.tap(swell, "amount", amount=0)["code"] == "out-of-range"

        to(pier)
        assert counted(ansa.tap(pier))
        coach.call("add-time", span=-600_000_000)
        ansa.until("the bell", lambda: ansa.phase()["phase"] == "waiting")
        entered = ansa.ask("enter-extra", athlete=athlete, segment=pier, reached={"movement": 0, "reps": 45})
        assert entered["outcome"] == "done", entered
        comes_to(pier, kind="count", amount=165)

        to(knots)
        assert counted(ansa.tap(knots, "finish"))
        comes_to(knots, kind="done")
        assert len(coach.row(athlete)["scores"]) == 5, "quality has no places"


def test_what_lies_outside_its_unit_is_refused_with_the_range(house):
    with on_the_floor(house, ALONE, "Ansa") as (_, coach, (ansa,)):
        athlete = ansa.welcome["athlete"]
        for tally, code in (
            ({"kind": "rounds", "rounds": 1_000, "extra": 0}, "out-of-range"),
            ({"kind": "load", "grams": 5}, "not-now"),
        ):
            answer = coach.ask("set-tally", athlete=athlete, segment=WORK, tally=tally)
            assert (answer["outcome"], answer["code"]) == ("refused", code), answer
        # Below zero and not whole are no counts at all: the message is not understood.
        for rounds in (-1, 2.5):
            coach.say({"type": "ask", "id": "a3b1c2d4-0000-4000-8000-000000000099", "ask": "set-tally",
                       "athlete": athlete, "segment": WORK, "tally": {"kind": "rounds", "rounds": rounds, "extra": 0}})
            coach.until("an error", lambda: coach.errors)
            assert coach.errors.pop()["code"] == "not-understood"
        with pytest.raises(Problem):
            ask_http(house.base, "GET", "/api/classes/none/history?athlete=none&segment=1", None, house.coach_token)
