/**
 * The phone page: comes in, then follows the class. The frame loop writes the digits; a message, a touch, or the
 * clock coming to something else draws the page once.
 */
import "../shared/theme.css";
import "./phone.css";
import "./floor.css";
import "./count.css";
import "./result.css";
import "./cover.css";
import { html, render } from "lit-html";
import { get } from "../shared/api";
import { keepAwake } from "../shared/awake";
import { isStanding, kindShown, SECOND, type Showing, showing } from "../shared/clock";
import { deviceNow } from "../shared/device";
import { everyFrame } from "../shared/frames";
import { Line } from "../shared/line";
import { Outbox } from "../shared/outbox";
import { socketAddress } from "../shared/socket";
import { Sound } from "../shared/sound";
import { setTheme, theme } from "../shared/theme";
import type { Clock, Segment, State } from "../shared/wire";
import { phoneSpeaker } from "./beeper";
import { brought, Join } from "./join";
import { Phone } from "./phone";
import { areaOf } from "./screens/count";
import { joinScreen } from "./screens/join";
import { listen, shell } from "./screens/shell";
import { stopTimer } from "./screens/timers";
import { me, setSettings, settings } from "./settings";
import { beatAt } from "./timer";
import { AFTER_BELL, type View, view } from "./view";

const app = document.querySelector<HTMLElement>("#app") ?? document.body;
let house = "";
let phone: Phone | null = null;
let shown: View | null = null;
/** What of the clock the drawn page depends on. */
let drawnFor = "";
/** The clock as the digits go by it, and from which house time on the page is to be looked at anew all the same. */
let clockShown: Clock | null = null;
let segmentsShown: readonly Segment[] = [];
let lookAgain = Number.POSITIVE_INFINITY;
const line = new Line();
/** The second of the athlete's own timer that is shown. */
let beatShown: number | null = null;
let dirty = true;
const changed = () => {
  dirty = true;
};
const join = new Join(changed, follow);
let joining = true;
/** Whether it comes in anew only because the house turned it away, which may yet turn out otherwise. */
let away = false;
let sound: Sound | null = null;

/** Follows the class that this phone is in. */
async function follow(): Promise<void> {
  history.replaceState(null, "", "/");
  if (phone !== null) {
    location.reload();
    return;
  }
  const outbox = await Outbox.open();
  phone = new Phone([socketAddress(location, "athlete")], outbox, changed, turnedAway);
  joining = false;
  keepAwake((how) => {
    if (phone !== null) phone.awake = how;
    changed();
  });
  changed();
}

/** The socket did not open. Where the house answers all the same, it does not know this phone. */
async function turnedAway(): Promise<void> {
  const answer = await get<{ house: string }>("/api/house");
  if (!answer.ok || phone?.follower.welcome != null || joining) return;
  away = joining = true;
  join.set({ stage: "code" }, "This phone is not in a class now. Scan the code on the wall, or type it.");
}

async function begin(): Promise<void> {
  const found = brought(location.hash);
  joining = phone === null || found.by !== "nothing";
  if (found.by === "link") return join.byLink(found.token);
  if (found.by === "code") return join.look(found.code, me()?.class ?? null);
  if (phone !== null) return;
  if (me() !== null) return follow();
  join.set({ stage: "code" }, null);
}

function frame(aim: number): void {
  const at = phone?.follower.houseTime(aim) ?? null;
  const state = phone?.follower.state ?? null;
  if (phone !== null && at !== null && state !== null) {
    const same = state.clock === clockShown && state.segments === segmentsShown;
    if (!same || phone.face.isStale(at) || at >= lookAgain) clockCame(phone, state, at);
    else phone.frame(at);
    if (phone.face.frame(at)) {
      fitDigits(phone);
      line.frame(at);
    }
  }
  phone?.forgetNotice(deviceNow());
  if (dirty) {
    dirty = false;
    draw(at);
  }
  beat(aim);
}

/** The clock has changed, or has come to something else at house time `at`. */
function clockCame(phone: Phone, { clock, segments }: State, at: number): void {
  const now = showing(clock, segments, at);
  phone.noticeWork(now, at);
  const key = keyOf(now, phone.justOver(at, AFTER_BELL));
  if (key !== drawnFor) {
    phone.clockMoved(now);
    drawnFor = key;
    dirty = true;
  }
  if (isStanding(now)) phone.face.show(now, at);
  else phone.face.clear();
  line.fill(document.getElementById("run"), isStanding(now) ? now : null, at);
  [clockShown, segmentsShown] = [clock, segments];
  const over = phone.overUntil(AFTER_BELL);
  lookAgain = at < over ? over : Number.POSITIVE_INFINITY;
}

/** More than five characters are set smaller. */
const fitDigits = ({ face }: Phone) =>
  face.text.parentElement?.toggleAttribute("data-long", face.text.data.length > 5);

const keyOf = (now: Showing, justOver: boolean): string =>
  isStanding(now) ? [now.phase, now.index, kindShown(now), now.resumeIn > 0, justOver].join(" ") : now.phase;

/** Draws the page at house time `at`, where that is known. */
function draw(at: number | null): void {
  if (away && phone?.follower.welcome != null) away = joining = false;
  const known = phone?.known() ?? null;
  const now = known === null || at === null ? null : showing(known.state.clock, known.state.segments, at);
  shown = known === null || now === null || at === null ? null : view(known, now, at);
  if (joining || phone === null) render(joinScreen(join, house), app);
  else if (known === null || shown === null) render(waiting(phone), app);
  else {
    listen(phone, shown, deviceNow());
    render(shell(phone, known, shown), app);
  }
  if (phone !== null && now !== null && at !== null) {
    fitDigits(phone);
    const run = document.getElementById("run");
    if (line.isStale(run)) line.fill(run, isStanding(now) ? now : null, at);
  }
  beatShown = null;
  soundAsSet();
}

/** Bells sound on a phone only where its owner wants them, as at home. */
function soundAsSet(): void {
  if (sound !== null || !settings().sound) return;
  sound = new Sound(phoneSpeaker(), () => {
    const { follower } = phone ?? {};
    return follower?.state == null || !settings().sound
      ? null
      : { ...follower.state, houseTime: (device) => follower.soundTime(device) };
  });
}

/** Before there is a class on this phone. */
const waiting = ({ follower }: Phone) => html`<div class="page" data-screen="waiting">
  <div class="scroll">
    <h1>${follower.welcome?.house || house || "floorbell"}</h1>
    <p class="soon">${follower.noClass ?? "Looking for the house …"}</p>
    ${
      follower.noClass === null
        ? ""
        : html`<button
            @click=${() => {
              joining = true;
              join.set({ stage: "code" }, null);
            }}
          >
            Type a class code
          </button>`
    }
  </div>
</div>`;

/** What the athlete's own timer reads. All its parts are whole seconds, so it changes only with those. */
function beat(device: number): void {
  const timer = phone?.timer;
  if (phone == null || timer == null) return;
  const second = Math.floor((device - timer.start) / SECOND);
  if (second === beatShown) return;
  beatShown = second;
  const now = beatAt(timer.plan, (device - timer.start) / SECOND);
  const element = document.getElementById("beat");
  if (now === null) stopTimer(phone);
  else if (element !== null)
    element.textContent = `${now.rep > 0 ? `${now.rep} · ` : ""}${now.word} ${now.left}`;
}

/** What is touched to count: the large area, or the band that finishes. */
type Target = "touch" | "finish";

/** A count: at once on touch, by key, and by the click that assistive technology makes. */
function touched(event: Event, target: Target): void {
  const foot = shown?.screen === "floor" ? shown.foot : null;
  if (phone === null || phone.panel !== null || foot?.foot !== "count") return;
  if (foot.scoring.by === "load") return;
  event.preventDefault();
  const { counts, say } = areaOf(foot);
  const finish = foot.count.finished === null ? ({ kind: "finish" } as const) : null;
  const means = target === "finish" ? finish : counts;
  if (foot.refused !== null || means === null) {
    phone.refuse(foot.refused ?? say);
    answerTouch(target, "bumped");
  } else if (phone.tap(foot.segment, means, foot.whose.athlete)) {
    answerTouch(target, "hit");
  }
}

/** Shows on what was touched that it took the touch, or why it did not. */
function answerTouch(target: Target, how: "hit" | "bumped"): void {
  const area = document.getElementById(target);
  for (const animation of area?.getAnimations({ subtree: true }) ?? []) animation.cancel();
  const element = how === "hit" ? area?.querySelector(".flash") : area?.querySelector(".say");
  element?.animate(how === "hit" ? HIT : BUMPED, { duration: 350, easing: "ease-out" });
}

const HIT = [{ opacity: 0.45 }, { opacity: 0 }];
const BUMPED = [0, -6, 6, -3, 0].map((x) => ({ transform: `translateX(${x}px)` }));

const targetOf = (target: EventTarget | null): Target | null => {
  const found = target instanceof Element ? target.closest("#touch, #finish") : null;
  return found === null ? null : found.id === "touch" ? "touch" : "finish";
};

addEventListener("pointerdown", (event) => {
  const target = targetOf(event.target);
  if (event.isPrimary && event.button === 0 && target !== null) touched(event, target);
});
addEventListener("click", (event) => {
  const target = targetOf(event.target);
  if (event.detail === 0 && target !== null) touched(event, target);
});
addEventListener("keydown", (event) => {
  const key = event.key === " " || event.key === "Enter";
  const elsewhere =
    event.target instanceof Element && event.target.closest("button, input, textarea, summary, a") !== null;
  const target = targetOf(event.target) ?? (elsewhere ? null : "touch");
  if (!key || target === null) return;
  if (event.repeat) event.preventDefault();
  else touched(event, target);
});
// Some browsers click a button when the space key is let go, whatever came of its being pressed.
addEventListener("keyup", (event) => {
  if (event.key === " " && targetOf(event.target) !== null) event.preventDefault();
});
addEventListener("hashchange", () => void begin());

setTheme(theme());
setSettings(settings());
everyFrame(frame);
void begin();
void get<{ house: string }>("/api/house").then((answer) => {
  if (answer.ok) house = answer.value.house;
  changed();
});
