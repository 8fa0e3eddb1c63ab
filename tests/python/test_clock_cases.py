"""The recorded cases of following house time, worked out once more, by other means than the program.

The program clips a polygon edge by edge. Here its corners are found by crossing every two lines and
keeping what violates none; the hull's centre of area comes from scipy's triangulation.
"""

import json
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import Delaunay

CASES = Path(__file__).parents[2] / "display-client" / "cases" / "sync.json"
PPM = 1e-6
UNKNOWN, FLOOR, WANDER = 100.0, 15.0, 5.0  # ppm
PLACE, AGE_MAX = 10e6, 900e6  # microseconds
RESOLUTION = 3.0  # two steps of the device's clock and one of house time, 1 µs each
SLEW, STEP_OVER, EXCHANGE_MAX = 0.05, 250_000.0, 10e6


class Device:
    def __init__(self):
        self.places, self.rates = [], (-UNKNOWN, UNKNOWN)
        self.fit = self.last = None
        self.shift = (0.0, 0.0)
        self.round_trips = []

    def possible(self, t0, t1, t2, t3):
        took, held = t3 - t0, t2 - t1
        newer = self.last is None or (t0 > self.last[0] and t3 >= self.last[3])
        slack = RESOLUTION + UNKNOWN * PPM * held
        return newer and took >= 0 and held >= 0 and held <= took + slack and took <= EXCHANGE_MAX

    def take(self, t0, t1, t2, t3):
        if not self.possible(t0, t1, t2, t3):
            return "refused"
        self.last = (t0, t1, t2, t3)
        self.round_trips = [*self.round_trips[-7:], max(0, (t3 - t0) - (t2 - t1))]
        most, least = (t0, t1 - t0 + RESOLUTION), (t3, t2 - t3 - RESOLUTION)
        before = None if self.fit is None else self.shown(t3)
        if self.fit is not None:
            over = self.estimate(t0) - t0 - most[1] > self.bound(t0)
            under = least[1] - (self.estimate(t3) - t3) > self.bound(t3)
            if over or under:
                self.places, self.rates = [], (-UNKNOWN, UNKNOWN)
        self.place(most, least)
        self.work_out(t3)
        error = None if before is None else before - self.estimate(t3)
        if error is None or abs(error) > STEP_OVER:
            self.shift = (0.0, t3)
            return "stepped"
        self.shift = (error, t3)
        return "slewed"

    def place(self, most, least):
        rate = 0.0 if self.fit is None else self.fit["rate"] * PPM
        if self.places and least[0] - self.places[-1][0] < PLACE:
            _, old_most, old_least = self.places[-1]
            if most[1] <= old_most[1] + rate * (most[0] - old_most[0]):
                self.places[-1][1] = most
            if least[1] >= old_least[1] + rate * (least[0] - old_least[0]):
                self.places[-1][2] = least
        else:
            self.places.append([least[0], most, least])
        self.places = [place for place in self.places if place[0] >= least[0] - AGE_MAX]

    def work_out(self, now):
        base = (self.places[-1][1][1] + self.places[-1][2][1]) / 2
        while True:
            corners = self.corners(now, base)
            if len(corners) > 2:
                break
            self.places.pop(0)
        mesh = Delaunay(corners, qhull_options="QJ Pp")
        triangles = corners[mesh.simplices]
        (ax, ay), (bx, by) = (triangles[:, n].T - triangles[:, 0].T for n in (1, 2))
        areas = np.abs(ax * by - ay * bx)
        rate, offset = (triangles.mean(axis=1) * areas[:, None]).sum(axis=0) / areas.sum()
        unsure = np.abs(corners[:, 0] - rate).max() + WANDER
        self.fit = {
            "at": now,
            "offset": base + offset,
            "error": np.abs(corners[:, 1] - offset).max(),
            "rate": rate,
            "unsure": max(FLOOR, min(unsure, UNKNOWN + abs(rate))),
        }

    def corners(self, now, base):
        """All (rate in ppm, offset from base) at which two lines cross and none is violated."""
        lines = [(1.0, 0.0, self.rates[1]), (-1.0, 0.0, -self.rates[0])]
        for _, most, least in self.places:
            for side, (at, offset) in ((1.0, most), (-1.0, least)):
                age = (now - at) * PPM
                lines.append((-side * age, side, side * (offset - base) + WANDER * age))
        rows = np.array(lines)
        crossings = []
        for one, other in combinations(rows, 2):
            across = np.array([one[:2], other[:2]])
            if abs(np.linalg.det(across)) > 1e-12:
                point = np.linalg.solve(across, [one[2], other[2]])
                if (rows[:, :2] @ point <= rows[:, 2] + 1e-6).all():
                    crossings.append(point)
        return np.unique(np.round(crossings, 9), axis=0) if crossings else np.empty((0, 2))

    def woke(self, passed, doubt):
        if self.fit is not None:
            self.fit["offset"] += passed
            self.fit["error"] += doubt
            self.places = []
            self.rates = (self.fit["rate"] - self.fit["unsure"], self.fit["rate"] + self.fit["unsure"])

    def estimate(self, now):
        return now + self.fit["offset"] + self.fit["rate"] * PPM * (now - self.fit["at"])

    def bound(self, now):
        return self.fit["error"] + self.fit["unsure"] * PPM * abs(now - self.fit["at"])

    def left(self, now):
        error, at = self.shift
        return np.sign(error) * max(0.0, abs(error) - SLEW * max(0.0, now - at))

    def shown(self, now):
        return self.estimate(now) + self.left(now)

    def read(self, now):
        return {
            "now": now,
            "estimate": self.estimate(now),
            "bound": self.bound(now),
            "shown": self.shown(now),
            "shown_bound": self.bound(now) + abs(self.left(now)),
            "round_trip": min(self.round_trips),
        }


@pytest.mark.parametrize("case", json.loads(CASES.read_text())["cases"], ids=lambda case: case["name"])
def test_a_recorded_case_follows_from_its_exchanges(case):
    device = Device()
    read = 0
    for step in case["steps"]:
        if "exchange" in step:
            assert device.take(*step["exchange"]) == step["taken"]
        elif "woke" in step:
            device.woke(*step["woke"])
        else:
            assert device.read(step["now"]) == pytest.approx(step, abs=2)
            read += 1
    assert read > 0
