"""A class followed by a client that was written from the protocol's page alone."""

import json
import uuid

import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import connect

from device import Device, Problem, ask_http, device_time

# Segments: 0 lead-in, 1 work of 4 min, whose bell waits.
SHEET = "# Page\n\n## Tide: AMRAP 4 min\n\n- 11 squat\n- 8 push-up\n- 7 sit-up\n"
WORK = 1


def to_work(coach):
    """Starts the class and cuts the lead-in short."""
    coach.call("start")
    coach.call("next")
    assert coach.phase()["segment"] == WORK


def test_joins_taps_and_reads_the_board(house):
    opened = house.open(SHEET)
    look = ask_http(house.base, "POST", "/api/look", {"code": opened["code"].lower()})
    assert (look["title"], look["class"]) == ("Page", opened["class"])
    assert look["blocks"][0]["kind"]["format"]["window"] == 240_000_000
    with house.coach() as coach:
        phone, _ = house.join(opened["code"], "Ansa")
        with phone:
            athlete = phone.welcome["athlete"]
            assert phone.welcome["role"] == "athlete"
            assert phone.state["class"] == opened["class"]
            assert phone.phase() == {"phase": "gathering"}
            to_work(coach)
            phone.until("the phone shows work", lambda: phone.phase().get("segment") == WORK)

            kept = phone.tap(WORK)
            assert (kept["type"], kept["standing"]) == ("kept", "counted")
            # By the two devices' own reckoning, the tap lies in the work that has just begun.
            assert 0 <= kept["at"] < 30_000_000
            phone.tap(WORK, "round-before")
            tally = {"kind": "rounds", "rounds": 2, "extra": 0}
            phone.until("its own tally", lambda: phone.own and phone.own["windows"][0]["tally"] == tally)
            coach.until("the board", lambda: coach.row(athlete)["scores"][0]["tally"] == tally)
            assert coach.row(athlete)["scores"][0]["place"] == 1

            coach.call("add-time", span=-600_000_000)
            phone.until("the bell", lambda: phone.phase()["phase"] == "waiting")
            answer = phone.ask("enter-extra", athlete=athlete, segment=WORK, reached={"movement": 2, "reps": 4})
            assert answer["outcome"] == "done", answer
            tally["extra"] = 23
            coach.until("the extra reps", lambda: coach.row(athlete)["scores"][0]["tally"] == tally)


def test_both_ends_reckon_the_same_time(house):
    house.open(SHEET)
    with house.coach() as one, house.coach() as other:
        now = device_time()
        (first, first_bound), (second, second_bound) = one.sync.house_time(now), other.sync.house_time(now)
        assert abs(first - second) <= first_bound + second_bound


def test_unknown_fields_are_ignored_and_unknown_messages_answered(house):
    opened = house.open(SHEET)
    phone, _ = house.join(opened["code"], "Ansa")
    with phone:
        phone.say({"type": "sync", "t0": device_time(), "of_a_later_version": [1, {"so": "it is"}]})
        before = list(phone.sync.exchanges)
        phone.until("an answer", lambda: phone.sync.exchanges != before)
        assert phone.errors == []
        phone.say({"type": "dance", "with": "me"})
        error = phone.until("an error", lambda: phone.errors)[0]
        assert error["code"] == "not-understood" and error["text"]
        phone.exchange(1)


def test_a_call_by_a_phone_is_refused_in_words(house):
    opened = house.open(SHEET)
    phone, _ = house.join(opened["code"], "Ansa")
    with phone:
        seen = {"segment": None, "revision": phone.state["clock"]["revision"]}
        answer = phone.request({"type": "call", "call": "start", "seen": seen})
        assert (answer["outcome"], answer["code"]) == ("refused", "coach-only")
        assert answer["text"].endswith(".")
        assert phone.phase() == {"phase": "gathering"}


def test_a_stale_call_changes_nothing(house):
    house.open(SHEET)
    with house.coach() as coach:
        seen = {"segment": None, "revision": coach.state["clock"]["revision"]}
        coach.call("start")
        answer = coach.request({"type": "call", "call": "next", "seen": seen})
        assert (answer["outcome"], answer["code"]) == ("refused", "stale")
        assert coach.phase()["segment"] == 0


@pytest.mark.parametrize(
    ("first", "sent", "code"),
    [
        pytest.param(None, b"\x00\x01", 1003, id="binary"),
        pytest.param(None, "x" * 20_000, 1009, id="too long"),
        pytest.param(None, "hello", 1008, id="no JSON"),
        pytest.param(None, "[1, 2]", 1008, id="no object"),
        pytest.param({"type": "sync", "t0": 1}, None, 1008, id="something else than hello first"),
    ],
)
def test_what_is_no_message_ends_the_connection_with_its_code(house, first, sent, code):
    opened = house.open(SHEET)
    joined = ask_http(house.base, "POST", "/api/join", {"code": opened["code"], "name": "Ansa"})
    address = house.base.replace("http", "ws") + "/api/follow?as=athlete"
    headers = {"Authorization": f"Bearer {joined['token']}"}
    with connect(address, subprotocols=["floorbell.v1"], additional_headers=headers, origin=None) as socket:
        socket.send(json.dumps(first or {"type": "hello", "device": str(uuid.uuid4())}))
        if sent is not None:
            socket.send(sent)
        with pytest.raises(ConnectionClosed) as closed:
            while True:
                socket.recv(30)
        # The codes are those of RFC 6455, section 7.4.1.
        assert closed.value.rcvd.code == code
        assert closed.value.rcvd.reason.endswith(".")


def test_who_may_not_follow_is_told_before_the_upgrade(house):
    opened = house.open(SHEET)
    joined = ask_http(house.base, "POST", "/api/join", {"code": opened["code"], "name": "Ansa"})

    def status(role, token, subprotocol):
        address = house.base.replace("http", "ws") + f"/api/follow?as={role}"
        headers = {"Authorization": f"Bearer {token}"}
        with pytest.raises(InvalidStatus) as refused:
            connect(address, subprotocols=[subprotocol], additional_headers=headers, origin=None)
        return refused.value.response.status_code

    assert status("athlete", "no token", "floorbell.v1") == 401
    assert status("coach", joined["token"], "floorbell.v1") == 403
    assert status("athlete", joined["token"], "floorbell.v999") == 400


def test_a_wrong_code_is_said_with_what_to_do(house):
    house.open(SHEET)
    with pytest.raises(Problem) as refused:
        ask_http(house.base, "POST", "/api/join", {"code": "CCCC-CCCC", "name": "Ansa"})
    assert refused.value.status == 404
    assert "scan" in refused.value.detail


def test_a_wall_waits_until_the_coach_lets_it_in(house):
    house.open(SHEET)
    wall = ask_http(house.base, "POST", "/api/walls", {})
    with house.coach() as coach, Device(house.base, "wall", wall["token"]) as screen:
        assert screen.welcome["accepted"] is False and screen.welcome["number"] == wall["number"]
        coach.until("the wall asks", lambda: coach.coach and wall["number"] in coach.coach["walls_waiting"])
        assert coach.ask("wall", number=wall["number"], accept=True)["outcome"] == "done"
        screen.until("the state", lambda: screen.state)
        assert screen.welcome["accepted"] is True


def test_the_history_of_a_tally_says_who_when_from_and_to(house):
    opened = house.open(SHEET)
    with house.coach() as coach:
        phone, token = house.join(opened["code"], "Ansa")
        with phone:
            athlete = phone.welcome["athlete"]
            to_work(coach)
            phone.until("the phone shows work", lambda: phone.phase().get("segment") == WORK)
            phone.tap(WORK)
            tally = {"kind": "rounds", "rounds": 4, "extra": 0}
            assert coach.ask("set-tally", athlete=athlete, segment=WORK, tally=tally)["outcome"] == "done"
            path = f"/api/classes/{opened['class']}/history?athlete={athlete}&segment={WORK}"
            changes = ask_http(house.base, "GET", path, None, house.coach_token)["changes"]
            one = {"kind": "rounds", "rounds": 1, "extra": 0}
            told = [(change["who"], change["what"], change["from"], change["to"]) for change in changes]
            assert told == [("Ansa", "tap", None, one), ("Coach", "set", one, tally)]
            quick = "Tapped a round; marked: sooner than a round can be done."
            assert [change["why"] for change in changes] == [quick, "Set the tally."]
            assert changes[0]["at"] <= changes[1]["at"]
            with pytest.raises(Problem):
                ask_http(house.base, "GET", path, None, token)
