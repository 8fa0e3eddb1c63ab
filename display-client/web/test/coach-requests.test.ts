import { describe, expect, test } from "vitest";
import {
  LATE_MS,
  NOTICE_MS,
  RESEND_MS,
  Requests,
  SAME_TOUCH_MS,
  STOP_GAP_MS,
  STOP_TIMES,
  URGENT_LATE_MS,
} from "../src/coach/requests";
import type { FromDevice, Outcome } from "../src/shared/wire";

/** Requests on a time line and a network that the test drives. */
function around() {
  let now = 0;
  let count = 0;
  let timers: { at: number; run: () => void }[] = [];
  const sent: FromDevice[] = [];
  const requests = new Requests({
    send: (message) => sent.push(message) > 0,
    after(milliseconds, run) {
      const timer = { at: now + milliseconds, run };
      timers.push(timer);
      return () => {
        timers = timers.filter((other) => other !== timer);
      };
    },
    now: () => now,
    newId: () => {
      count += 1;
      return `r${count}`;
    },
    changed: () => {},
  });
  return {
    requests,
    sent,
    pass(milliseconds: number) {
      const end = now + milliseconds;
      for (;;) {
        const due = timers.filter(({ at }) => at <= end).sort((a, b) => a.at - b.at)[0];
        if (due === undefined) break;
        timers = timers.filter((other) => other !== due);
        now = due.at;
        due.run();
      }
      now = end;
    },
    answer: (to: string, outcome: Outcome) => requests.heard({ type: "answer", to, ...outcome }),
    timers: () => timers.length,
    texts: () => requests.told.map(({ text }) => text),
  };
}

const SEEN = { segment: 2, revision: 7 };
const DONE: Outcome = { outcome: "done" };

describe("a call", () => {
  test("carries an id and what the coach was looking at", () => {
    const { requests, sent } = around();
    requests.call({ call: "next" }, SEEN);
    requests.call({ call: "stop" }, SEEN);
    expect(sent).toEqual([
      { type: "call", id: "r1", call: "next", seen: SEEN },
      { type: "call", id: "r2", call: "stop", seen: SEEN },
    ]);
  });

  test("is sent again with the same id until it is answered, then never more", () => {
    const { requests, sent, pass, answer, timers } = around();
    requests.call({ call: "next" }, SEEN);
    pass(LATE_MS + 3 * RESEND_MS);
    expect(sent).toHaveLength(5);
    expect(new Set(sent.map((message) => JSON.stringify(message))).size).toBe(1);
    answer("r1", DONE);
    pass(10 * RESEND_MS);
    expect(sent).toHaveLength(5);
    expect(timers()).toBe(0);
  });

  test("goes out at once on a new connection, in order with what else waits", () => {
    const { requests, sent } = around();
    requests.call({ call: "hold" }, SEEN);
    void requests.ask({ ask: "close" }, "close");
    sent.length = 0;
    requests.connected();
    expect(sent.map((message) => "id" in message && message.id)).toEqual(["r1", "r2"]);
  });

  test("touched twice on one touch is made once; another touch is another call", () => {
    const { requests, sent, pass } = around();
    requests.call({ call: "next" }, SEEN);
    pass(SAME_TOUCH_MS - 1);
    requests.call({ call: "next" }, SEEN);
    expect(sent).toHaveLength(1);
    pass(1);
    requests.call({ call: "next" }, SEEN);
    expect(sent).toHaveLength(2);
  });

  test("that was refused is said with the house's reason, for a while", () => {
    const { requests, pass, answer, texts } = around();
    requests.call({ call: "next" }, SEEN);
    answer("r1", { outcome: "refused", code: "stale", text: "The class has moved on: a bell has gone." });
    expect(texts()).toEqual(["Not carried out: next. The class has moved on: a bell has gone."]);
    pass(NOTICE_MS);
    expect(texts()).toEqual([]);
  });

  test("that is late is said until it is answered", () => {
    const { requests, pass, answer, texts } = around();
    requests.call({ call: "add-time", span: 30_000_000 }, SEEN);
    pass(LATE_MS - 1);
    expect(texts()).toEqual([]);
    pass(1);
    expect(texts()).toEqual(["Not delivered yet: 30 s added. It is sent again until the house answers."]);
    answer("r1", DONE);
    expect(texts()).toEqual([]);
  });

  test("to hold is late after 500 ms, and asks for the coach's voice", () => {
    const { requests, pass, texts } = around();
    requests.call({ call: "hold" }, SEEN);
    pass(URGENT_LATE_MS);
    expect(texts()[0]).toContain("Use your voice");
  });
});

describe("a request that is given up", () => {
  test("is not sent again, and its asker is told", async () => {
    const { requests, sent, pass, timers } = around();
    const asked = requests.ask({ ask: "close" }, "close");
    pass(LATE_MS);
    const [notice] = requests.told;
    expect(notice?.of).toBe("r1");
    sent.length = 0;
    requests.giveUp("r1");
    expect(requests.told).toEqual([]);
    requests.connected();
    pass(10 * RESEND_MS);
    expect(sent).toEqual([]);
    expect(timers()).toBe(0);
    expect(await asked).toMatchObject({ outcome: "refused", code: "given-up" });
  });

  test("is never a stop", () => {
    const { requests, sent } = around();
    requests.call({ call: "stop" }, SEEN);
    requests.giveUp("r1");
    sent.length = 0;
    requests.connected();
    expect(sent).toHaveLength(1);
  });
});

describe("a stop", () => {
  test("is sent three times, so that one lost packet does not delay it", () => {
    const { requests, sent, pass } = around();
    requests.call({ call: "stop" }, SEEN);
    pass(STOP_GAP_MS * (STOP_TIMES - 1));
    expect(sent).toEqual(Array(STOP_TIMES).fill({ type: "call", id: "r1", call: "stop", seen: SEEN }));
    pass(URGENT_LATE_MS - STOP_GAP_MS * STOP_TIMES);
    expect(sent.length).toBe(STOP_TIMES);
  });

  test("is not sent again once it is answered", () => {
    const { requests, sent, pass, answer, timers } = around();
    requests.call({ call: "stop" }, SEEN);
    answer("r1", DONE);
    pass(STOP_GAP_MS * STOP_TIMES);
    expect(sent.length).toBe(1);
    expect(timers()).toBe(0);
  });

  test("stands at once, is undelivered after 500 ms, and delivered when the house says so", () => {
    const { requests, pass, answer } = around();
    requests.call({ call: "stop" }, SEEN);
    expect(requests.stop).toMatchObject({ state: "sent", seen: 7 });
    pass(URGENT_LATE_MS - 1);
    expect(requests.stop?.state).toBe("sent");
    pass(1);
    expect(requests.stop?.state).toBe("undelivered");
    answer("r1", DONE);
    expect(requests.stop?.state).toBe("delivered");
  });

  test("is never taken for the second half of another touch, nor turned away by what waits", () => {
    const { requests, sent, pass } = around();
    requests.call({ call: "hold" }, SEEN);
    requests.call({ call: "stop" }, SEEN);
    expect(sent.at(-1)).toMatchObject({ call: "stop" });
    for (let count = 0; count < 100; count += 1) void requests.ask({ ask: "close" }, "close");
    pass(SAME_TOUCH_MS);
    requests.call({ call: "stop" }, SEEN);
    expect(sent.at(-1)).toMatchObject({ call: "stop" });
  });

  test("that the disk refuses is said to be not yet saved", () => {
    const { requests, answer } = around();
    requests.call({ call: "stop" }, SEEN);
    answer("r1", { outcome: "not-yet-saved" });
    expect(requests.stop?.state).toBe("not-yet-saved");
  });

  test("that was refused keeps the reason", () => {
    const { requests, answer } = around();
    requests.call({ call: "stop" }, SEEN);
    answer("r1", { outcome: "refused", code: "closed", text: "The class is closed." });
    expect(requests.stop).toMatchObject({ state: "refused", text: "The class is closed." });
  });
});

describe("what else is asked", () => {
  test("is fulfilled with its own answer, once", async () => {
    const { requests, answer } = around();
    const asked = requests.ask({ ask: "add-athlete", name: "Ida", at_home: true, here: true }, "add Ida");
    answer("another", DONE);
    answer("r1", { outcome: "done", link: "/#me=abc" });
    answer("r1", { outcome: "refused", code: "x", text: "late" });
    expect(await asked).toMatchObject({ outcome: "done", link: "/#me=abc" });
  });

  test("beyond what a coach can have open is not sent, and said", () => {
    const { requests, sent, texts } = around();
    for (let count = 0; count < 65; count += 1) void requests.ask({ ask: "close" }, "close");
    expect(sent).toHaveLength(64);
    expect(texts()[0]).toContain("Not sent: close.");
  });
});
