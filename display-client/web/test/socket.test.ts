import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { pause, Socket } from "../src/shared/socket";
import type { ToDevice } from "../src/shared/wire";
import { FakeSocket, page, pageIsOver } from "./page";

let shown: ReturnType<typeof page>;
beforeEach(() => {
  shown = page();
});
afterEach(pageIsOver);

function opened() {
  const heard: ToDevice[] = [];
  const lost: string[] = [];
  const socket = new Socket(["ws://one", "ws://two"], {
    connected: () => {},
    message: (message) => heard.push(message),
    lost: (reason) => lost.push(reason),
  });
  return { socket, heard, lost };
}

it("says whether it is connected, and sends only then", () => {
  const { socket } = opened();
  expect(socket.connection).toBe("on-its-own");
  expect(socket.send({ type: "sync", t0: 1 })).toBe(false);
  FakeSocket.last.opens();
  expect(socket.connection).toBe("connected");
  expect(socket.send({ type: "sync", t0: 1 })).toBe(true);
  expect(FakeSocket.last.sent).toEqual([{ type: "sync", t0: 1 }]);
});

it("sends nothing into a network that takes nothing", () => {
  const { socket } = opened();
  FakeSocket.last.opens();
  FakeSocket.last.bufferedAmount = 300_000;
  expect(socket.send({ type: "sync", t0: 1 })).toBe(false);
});

it("comes back after a loss, by the next address, with the reason told", () => {
  const { lost } = opened();
  FakeSocket.last.breaks("the house restarts");
  expect(lost).toEqual(["the house restarts"]);
  vi.advanceTimersByTime(250);
  expect(FakeSocket.all.map(({ address }) => address)).toEqual(["ws://one", "ws://two"]);
});

it("gives up a connection that never answers", () => {
  opened();
  vi.advanceTimersByTime(5_000);
  vi.advanceTimersByTime(250);
  expect(FakeSocket.all.length).toBe(2);
});

it("comes back at once when the network does", () => {
  opened();
  for (let times = 0; times < 8; times += 1) {
    FakeSocket.last.breaks();
    vi.advanceTimersByTime(5_000);
  }
  FakeSocket.last.breaks();
  const before = FakeSocket.all.length;
  shown.fire("online");
  expect(FakeSocket.all.length).toBe(before + 1);
});

it("passes over what an old connection still says", () => {
  const { heard } = opened();
  const old = FakeSocket.last;
  old.breaks();
  vi.advanceTimersByTime(250);
  old.says({ type: "error", code: "late", text: "" });
  FakeSocket.last.says({ type: "error", code: "now", text: "" });
  expect(heard).toMatchObject([{ code: "now" }]);
});

it("stays closed", () => {
  const { socket } = opened();
  socket.close();
  FakeSocket.last.breaks();
  shown.fire("online");
  vi.advanceTimersByTime(60_000);
  expect(FakeSocket.all.length).toBe(1);
});

it("pauses longer each time, never over five seconds, half of it by chance", () => {
  expect([0, 1, 2, 3].map((attempts) => pause(attempts, 1))).toEqual([250, 500, 1000, 2000]);
  expect([0, 1, 2, 3].map((attempts) => pause(attempts, 0))).toEqual([125, 250, 500, 1000]);
  expect(pause(1_000, 1)).toBe(5_000);
});
