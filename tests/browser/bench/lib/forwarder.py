"""A bad path between two network namespaces, at IP level, so that the kernels' own TCP loses, waits and sends again.

    forwarder.py HOUSE FLOOR '{"to_floor_ms": 20, "to_house_ms": 20, "jitter_ms": 15, "loss": 0.02, "seed": 1}'

It makes one TUN device for each namespace and carries IPv4 packets between them. Each packet is lost by chance, or
comes out after the delay of its direction plus or minus an even share of the jitter. Packets of one connection keep
their order in each direction, as over a radio link that repeats lost frames itself; different connections, that is
different devices, overtake each other. Everything follows from the seed and the packets.

The standard input takes `cut` (nothing passes any more) and `join`; at its end the program ends. One line says when
the path is there; at the end one JSON line says what has passed.
"""

import fcntl
import heapq
import json
import os
import random
import select
import struct
import subprocess
import sys
import time

TUNSETIFF = 0x400454CA  # from linux/if_tun.h
IFF_TUN, IFF_NO_PI = 0x0001, 0x1000
HOUSE, FLOOR = "10.77.0.1", "10.77.0.2"
# Well over what ten screens have under way; more would be a loop.
UNDER_WAY_MAX = 10_000
MTU = 1500


def device(name: str, namespace: str, own: str, other: str) -> int:
    """A TUN device of this process that stands in a namespace."""
    tun = os.open("/dev/net/tun", os.O_RDWR | os.O_NONBLOCK)
    fcntl.ioctl(tun, TUNSETIFF, struct.pack("16sH22x", name.encode(), IFF_TUN | IFF_NO_PI))
    for command in (
        f"ip link set {name} netns {namespace}",
        f"ip -n {namespace} link set lo up",
        f"ip -n {namespace} addr add {own} peer {other} dev {name}",
        f"ip -n {namespace} link set {name} mtu {MTU} up",
    ):
        subprocess.run(command.split(), check=True)
    return tun


def connection(packet: bytes) -> bytes:
    """What packets of one connection have in common: protocol and, of TCP and UDP, the ports."""
    header = (packet[0] & 15) * 4
    return packet[9:10] + packet[header : header + 4]


class Path:
    """The packets under way, and the chance that they are subject to."""

    def __init__(self, to_floor_ms: float, to_house_ms: float, jitter_ms: float, loss: float, seed: int):
        self.delays = (to_floor_ms / 1000, to_house_ms / 1000)
        self.jitter = jitter_ms / 1000
        self.loss = loss
        self.chance = random.Random(seed)
        self.cut = False
        self.under_way: list[tuple[float, int, int, bytes]] = []
        self.last: dict[tuple[int, bytes], float] = {}
        self.passed = [0, 0]
        self.lost = [0, 0]
        self.waited: list[float] = []
        self.late: list[float] = []

    def take(self, way: int, packet: bytes, now: float) -> None:
        """Takes a packet in: 0 goes to the floor, 1 to the house."""
        if packet[0] >> 4 != 4:
            return
        lost = self.chance.random() < self.loss
        delay = self.delays[way] + self.jitter * self.chance.uniform(-1, 1)
        if lost or self.cut or len(self.under_way) >= UNDER_WAY_MAX:
            self.lost[way] += 1
            return
        flow = (way, connection(packet))
        due = max(now + max(0.0, delay), self.last.get(flow, 0.0))
        self.last[flow] = due
        self.passed[way] += 1
        self.waited.append(due - now)
        heapq.heappush(self.under_way, (due, sum(self.passed), way, packet))

    def due(self, now: float):
        """The packets whose time has come."""
        while self.under_way and self.under_way[0][0] <= now:
            due, _, way, packet = heapq.heappop(self.under_way)
            self.late.append(now - due)
            if not self.cut:
                yield way, packet

    def next_in(self, now: float) -> float | None:
        return max(0.0, self.under_way[0][0] - now) if self.under_way else None


def in_millis(values: list[float]) -> dict[str, float]:
    ordered = sorted(values) or [0.0]
    shares = {"p1": 0.01, "p50": 0.5, "p99": 0.99, "max": 1}
    return {name: round(1000 * ordered[int(share * (len(ordered) - 1))], 2) for name, share in shares.items()}


def main() -> None:
    house, floor, told = sys.argv[1:]
    path = Path(**json.loads(told))
    # A busy machine is not to make the path slower than it says: packets first, and they take next to no time.
    os.sched_setscheduler(0, os.SCHED_RR, os.sched_param(1))
    pid = os.getpid()
    ends = (device(f"fbh{pid}", house, HOUSE, FLOOR), device(f"fbf{pid}", floor, FLOOR, HOUSE))
    print("ready", flush=True)
    try:
        carry(path, ends)
    finally:
        told = {
            "packets": path.passed,
            "lost": path.lost,
            "delay_ms": in_millis(path.waited),
            "late_ms": in_millis(path.late),
        }
        print(json.dumps(told), flush=True)


def carry(path: Path, ends: tuple[int, int]) -> None:
    while True:
        readable, _, _ = select.select([*ends, 0], [], [], path.next_in(time.monotonic()))
        now = time.monotonic()
        for way, end in enumerate(ends):
            if end in readable:
                path.take(way, os.read(end, MTU + 100), now)
        for way, packet in path.due(now):
            os.write(ends[1 - way], packet)
        if 0 in readable:
            # Short lines, each written at once: a read takes whole ones.
            words = os.read(0, 4096).decode().split()
            if not words:
                return
            path.cut = words[-1] == "cut"


main()
