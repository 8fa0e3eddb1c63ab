"""A device that follows a class, written from docs/protocol.md and from nothing else.

It shares no code and no types with the other clients, so that what they take for granted together
with the server shows here.
"""

import contextlib
import json
import time
import urllib.error
import urllib.request
import uuid

from websockets.sync.client import connect

PATIENCE_SECONDS = 30


def device_time():
    """Whole microseconds, from wherever the machine likes."""
    return time.monotonic_ns() // 1000


class Problem(Exception):
    """A refusal over HTTP (RFC 9457)."""

    def __init__(self, status, detail):
        super().__init__(f"{status}: {detail}")
        self.status, self.detail = status, detail


def ask_http(base, method, path, body=None, token=None):
    """One HTTP request; the answer's JSON, or None where it has no body."""
    data = body.encode() if isinstance(body, str) else json.dumps(body).encode() if body is not None else None
    request = urllib.request.Request(base + path, data=data, method=method)
    request.add_header("Content-Type", "text/markdown" if isinstance(body, str) else "application/json")
    if token is not None:
        request.add_header("Authorization", f"Bearer {token}")
    try:
        with urllib.request.urlopen(request, timeout=PATIENCE_SECONDS) as answer:
            text = answer.read()
            return json.loads(text) if text else None
    except urllib.error.HTTPError as error:
        assert error.headers["Content-Type"].startswith("application/problem+json")
        problem = json.loads(error.read())
        assert problem["status"] == error.code and problem["type"] == "about:blank"
        raise Problem(error.code, problem["detail"]) from None


class Sync:
    """House time, as the page says that it is enough."""

    def __init__(self):
        self.exchanges = []

    def take(self, t0, t1, t2, t3):
        """Takes one exchange in, unless it cannot be."""
        if t3 < t0 or t2 < t1 or t2 - t1 > t3 - t0 + 2:
            return
        offset, round_trip = ((t1 - t0) + (t2 - t3)) / 2, max(0, (t3 - t0) - (t2 - t1))
        self.exchanges = (self.exchanges + [(offset, round_trip, t3)])[-8:]

    def house_time(self, now):
        """House time and how far off it may be, in whole microseconds."""

        def bound(exchange):
            _, round_trip, at = exchange
            return round_trip / 2 + 2 + 100e-6 * (now - at)

        best = min(self.exchanges, key=bound)
        return round(now + best[0]), round(bound(best)) + 1


def clock_now(clock, segments, now):
    """What the clock shows: its phase at house time `now`, through the bells that go by themselves."""
    phase = clock["phase"]
    while phase["phase"] == "running" and segments[phase["segment"]]["length"] is not None:
        segment = segments[phase["segment"]]
        length = max(0, segment["length"] + phase["added"])
        bell = phase["anchor"] + max(0, length - phase["at_anchor"])
        if now < bell:
            break
        later = range(phase["segment"] + 1, len(segments))
        following = next((index for index in later if not segments[index]["dropped"]), None)
        if segment["after"] == "wait":
            phase = {"phase": "waiting", "segment": phase["segment"], "since": bell}
        elif following is None:
            phase = {"phase": "done"}
        else:
            phase = {"phase": "running", "segment": following, "anchor": bell, "at_anchor": 0, "added": 0}
    return phase


class Device:
    """One device on one connection."""

    def __init__(self, base, role, token):
        address = base.replace("http://", "ws://") + f"/api/follow?as={role}"
        self.connection = contextlib.ExitStack()
        self.socket = self.connection.enter_context(
            connect(
                address,
                subprotocols=["floorbell.v1"],
                additional_headers={"Authorization": f"Bearer {token}"},
                # A program sends no Origin.
                origin=None,
                open_timeout=PATIENCE_SECONDS,
            )
        )
        assert self.socket.subprotocol == "floorbell.v1"
        self.sync, self.state, self.own, self.coach, self.welcome = Sync(), None, None, None, None
        self.kept, self.answers, self.errors = {}, {}, []
        self.say({"type": "hello", "device": str(uuid.uuid4())})
        self.until("welcome", lambda: self.welcome)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.connection.close()

    def say(self, message):
        """Sends a message."""
        self.socket.send(json.dumps(message))

    def hear(self, timeout=PATIENCE_SECONDS):
        """Takes one message in."""
        text = self.socket.recv(timeout)
        t3 = device_time()
        assert isinstance(text, str)
        message = json.loads(text)
        kind = message["type"]
        if kind == "welcome":
            self.welcome = message
        elif kind == "sync":
            self.sync.take(message["t0"], message["t1"], message["t2"], t3)
        elif kind == "state":
            self.state = message
        elif kind == "frame":
            self.frame(message)
        elif kind == "own":
            self.own = message
        elif kind == "coach":
            self.coach = message
        elif kind == "answer":
            self.answers[message["to"]] = message
        elif kind in ("kept", "not-kept"):
            self.kept[message["tap"]] = message
        elif kind == "error":
            self.errors.append(message)
        # Messages of other types are none of this device's business.

    def frame(self, frame):
        """Merges what has changed."""
        if self.state is None or frame["number"] <= self.state["number"]:
            return
        for field in ("number", "clock", "segments", "swaps", "started", "closed"):
            if frame.get(field) is not None:
                self.state[field] = frame[field]
        rows = {row["athlete"]: row for row in self.state["rows"]}
        rows.update({row["athlete"]: row for row in frame.get("rows", [])})
        gone = frame.get("gone", [])
        self.state["rows"] = [row for row in rows.values() if row["athlete"] not in gone]

    def until(self, what, find):
        """Follows until something is found."""
        end = time.monotonic() + PATIENCE_SECONDS
        while not (found := find()):
            left = end - time.monotonic()
            assert left > 0, f"{PATIENCE_SECONDS} s have passed, and still not: {what}"
            self.hear(left)
        return found

    def exchange(self, times=8):
        """Makes a burst of exchanges."""
        for _ in range(times):
            before = len(self.sync.exchanges), self.sync.exchanges[-1:]
            self.say({"type": "sync", "t0": device_time()})
            self.until("an exchange", lambda: before != (len(self.sync.exchanges), self.sync.exchanges[-1:]))

    def now(self):
        """House time now."""
        return self.sync.house_time(device_time())[0]

    def phase(self):
        """What the clock shows now."""
        return clock_now(self.state["clock"], self.state["segments"], self.now())

    def request(self, message):
        """Sends a request and gives its answer."""
        id_ = str(uuid.uuid4())
        self.say({**message, "id": id_})
        return self.until(f"an answer to {message}", lambda: self.answers.get(id_))

    def ask(self, ask, **fields):
        """Asks for something."""
        return self.request({"type": "ask", "ask": ask, **fields})

    def call(self, call, **fields):
        """Makes a call that is carried out, and waits until it shows."""
        revision = self.state["clock"]["revision"]
        seen = {"segment": self.phase().get("segment"), "revision": revision}
        answer = self.request({"type": "call", "call": call, "seen": seen, **fields})
        assert answer["outcome"] == "done", answer
        self.until("the call shows", lambda: self.state["clock"]["revision"] > revision)

    def let_pass(self, instant):
        """Follows until it is sure that house time is past an instant."""
        while True:
            now, bound = self.sync.house_time(device_time())
            left = instant + bound - now
            if left < 0:
                return
            with contextlib.suppress(TimeoutError):
                self.hear((left + 1) / 1_000_000)

    def window(self, segment):
        """This athlete's own window of work."""
        windows = self.own["windows"] if self.own else []
        return next((window for window in windows if window["segment"] == segment), None)

    def tap(self, segment, counts="round", athlete=None, **more):
        """Makes a tap and gives what became of it."""
        made_at, bound = self.sync.house_time(device_time())
        tap = {
            "id": str(uuid.uuid4()),
            "athlete": athlete or self.welcome["athlete"],
            "segment": segment,
            "counts": {"kind": counts, **more},
            "made_at": made_at,
            "bound": bound,
            "heard": self.state["clock"]["revision"],
        }
        self.say({"type": "tap", "tap": tap})
        return self.until("what became of the tap", lambda: self.kept.get(tap["id"]))

    def row(self, athlete):
        """An athlete's row."""
        return next((row for row in self.state["rows"] if row["athlete"] == athlete), None)
