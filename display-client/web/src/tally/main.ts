/**
 * The tally tablet's page: asks to be let in, then counts for up to twelve people on one screen. The frame loop writes
 * the digits; a message, a touch, or the clock coming to something else draws the page once.
 */
import "../shared/theme.css";
import "./tally.css";
import "./sheet.css";
import { html, nothing, render } from "lit-html";
import { stop } from "../counting/stop";
import { post } from "../shared/api";
import { keepAwake } from "../shared/awake";
import { isStanding, type Showing, showing } from "../shared/clock";
import { deviceNow } from "../shared/device";
import { everyFrame } from "../shared/frames";
import { Line } from "../shared/line";
import { Outbox } from "../shared/outbox";
import { socketAddress } from "../shared/socket";
import { setTheme, theme } from "../shared/theme";
import type { AthleteId, Clock, Segment } from "../shared/wire";
import { cover } from "./screens/covers";
import { floor } from "./screens/floor";
import { openFor } from "./screens/sheets";
import type { Sheet } from "./sheet";
import { Tablet } from "./tablet";
import { type View, view } from "./view";

const app = document.querySelector<HTMLElement>("#app") ?? document.body;
const line = new Line();
let tablet: Tablet | null = null;
let shown: View | null = null;
/** The clock as the page goes by it, and from which house time on it is to be looked at anew all the same. */
let clockShown: Clock | null = null;
let segmentsShown: readonly Segment[] = [];
let lookAgain = Number.POSITIVE_INFINITY;
let sheetShown: Sheet | null = null;
let dirty = true;
/** Why this tablet was not taken in, as the house said it. */
let problem: string | null = null;
let knocking = false;
/** Who was counted for by the touch that is still down: its click is no touch of its own. */
let countedFor: AthleteId | null = null;

const changed = () => {
  dirty = true;
};

async function begin(): Promise<void> {
  // A name of its own: this browser may be somebody's phone, too.
  const outbox = await Outbox.open("floorbell-tally");
  tablet = new Tablet([socketAddress(location, "tablet")], outbox, changed, () => void knock());
  keepAwake();
  everyFrame(frame);
}

/**
 * A house turns away the connection of a tablet that it does not know. The tablet cannot tell that from other troubles,
 * so it asks to be let in; one that is known keeps its number.
 */
async function knock(): Promise<void> {
  // The socket tries again meanwhile: without the first answer, a second knock would get another number.
  if (knocking) return;
  knocking = true;
  const asked = await post("/api/tablets");
  // Without any answer it is the house that is not found.
  problem = asked.ok || asked.status === 0 ? null : asked.problem;
  knocking = false;
  changed();
}

function frame(aim: number): void {
  if (tablet === null) return;
  const { follower, face } = tablet;
  const at = follower.houseTime(aim);
  const { state } = follower;
  if (at !== null && state !== null) {
    const same = state.clock === clockShown && state.segments === segmentsShown;
    if (!same || face.isStale(at) || at >= lookAgain) {
      [clockShown, segmentsShown] = [state.clock, state.segments];
      dirty = true;
    }
  }
  tablet.forgetNotice(deviceNow());
  if (dirty) {
    dirty = false;
    draw(tablet, at);
  } else if (at !== null && face.frame(at)) line.frame(at);
}

/** Draws the page at house time `at`, where that is known. */
function draw(tablet: Tablet, at: number | null): void {
  const { follower, face } = tablet;
  const { state } = follower;
  const now = state === null || at === null ? null : showing(state.clock, state.segments, at);
  if (now !== null && at !== null) {
    tablet.noticeWork(now, at);
    if (isStanding(now)) face.show(now, at);
    else face.clear();
  }
  const known = tablet.known();
  shown = known === null || now === null || at === null ? null : view(known, now, at);
  lookAgain = shown?.until ?? Number.POSITIVE_INFINITY;
  const inside = known === null || shown === null ? nothing : floor(tablet, known, shown);
  // The notice comes first: it stands also over a screen that has nothing else to show.
  const notice = state?.clock.stopped ? stop(follower.welcome?.emergency ?? "") : nothing;
  render(html`${cover(tablet, problem) ?? inside} ${notice}`, app);
  lookAt(tablet.sheet);
  if (at !== null && now !== null) fillLine(now, at);
}

/** A sheet that was opened is where the keyboard is; it goes with Escape. */
function lookAt(sheet: Sheet | null): void {
  const opened = sheet !== null && sheetShown === null;
  sheetShown = sheet;
  if (opened)
    document.querySelector<HTMLElement>(".sheet .close")?.focus({ focusVisible: false } as FocusOptions);
}

addEventListener("keydown", (event) => {
  if (event.key === "Escape" && tablet?.sheet != null) tablet.open(null);
});

const fillLine = (now: Showing, at: number) =>
  line.fill(document.getElementById("run"), isStanding(now) ? now : null, at);

/** Somebody's card under a touch. */
function cardAt(target: EventTarget | null): { card: View["cards"][number]; area: Element } | null {
  const area = target instanceof Element ? target.closest("[data-athlete]") : null;
  const card = shown?.cards.find(({ athlete }) => athlete === area?.getAttribute("data-athlete"));
  return area === null || card === undefined ? null : { card, area };
}

/** Counts at once on touch, for several fingers at a time; and by key and the click that assistive technology makes. */
function touched(event: Event): boolean {
  const found = cardAt(event.target);
  if (tablet === null || found === null || found.card.counted === null) return false;
  const { athlete, touch, counted } = found.card;
  if (touch.touch !== "count") return false;
  if (tablet.tap(athlete, counted.segment, touch.counts)) answerTouch(found.area, "hit");
  return true;
}

addEventListener("pointerdown", (event) => {
  countedFor = null;
  if (event.button === 0 && touched(event)) countedFor = cardAt(event.target)?.card.athlete ?? null;
});

addEventListener("click", (event) => {
  const found = cardAt(event.target);
  if (tablet === null || found === null || found.card.athlete === countedFor) return;
  const { card, area } = found;
  if (event.detail === 0 && touched(event)) return;
  if (card.touch.touch === "nothing") {
    tablet.tell(`${card.name}: ${card.touch.why}`);
    navigator.vibrate?.([10, 60, 10]);
    answerTouch(area, "bumped");
  } else if (card.touch.touch !== "count") openFor(tablet, card);
});

/** Shows on a card that it took a touch, or that it did not. */
function answerTouch(area: Element, how: "hit" | "bumped"): void {
  for (const animation of area.getAnimations({ subtree: true })) animation.cancel();
  const element = how === "hit" ? area.querySelector(".flash") : area;
  element?.animate(how === "hit" ? HIT : BUMPED, { duration: 350, easing: "ease-out" });
}

const HIT = [{ opacity: 0.5 }, { opacity: 0 }];
const BUMPED = [0, -6, 6, -3, 0].map((x) => ({ transform: `translateX(${x}px)` }));

setTheme(theme());
void begin();
