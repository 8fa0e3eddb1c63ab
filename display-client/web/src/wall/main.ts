/**
 * The wall: one screen for everybody on the floor, read from 15 m. It follows one class, counts nothing, and goes on
 * by itself when the network is lost.
 *
 * Two things change it. A message or a bell changes what is shown (`draw`, at most once a frame); the frame loop
 * changes the digits and nothing else.
 */
import "../shared/theme.css";
import "./board.css";
import "./covers.css";
import "./plan.css";
import "./sheet.css";
import "./wall.css";
import { post } from "../shared/api";
import { keepAwake } from "../shared/awake";
import { Follower } from "../shared/follow";
import { everyFrame } from "../shared/frames";
import { socketAddress } from "../shared/socket";
import { Sound } from "../shared/sound";
import { Speaker } from "../shared/speaker";
import { setTheme, type Theme, theme } from "../shared/theme";
import { ClassView } from "./class-view";
import { GatheringView, MessageView, PairingView, StopView } from "./covers";
import { element, rearranged } from "./dom";
import { SettingsSheet } from "./settings-sheet";

const gathering = new GatheringView();
const klass = new ClassView();
const pairing = new PairingView();
const message = new MessageView();
const stop = new StopView();
const alone = element("p", "alone", element("span", "alone-shape"), "On its own: no connection to the house");
const hint = element("p", "sound-hint", "Touch the screen or press a key to let sound through");
const views = [gathering, klass, pairing, message];
const speaker = new Speaker(() => hint.classList.toggle("stands", speaker.locked));
const sheet = new SettingsSheet(speaker);
/** A pointer that was moved is shown for so long. */
const POINTING_MS = 3_000;

/** Whether the page shows the newest state, and whether it had house time to do so. */
let drawn = false;
let drawnInTime = false;
/** Why this wall was not taken in, as the house said it. */
let problem: string | null = null;
let knocking = false;

function begin(): void {
  const follower = new Follower({
    addresses: [socketAddress(location, "wall")],
    changed: () => {
      drawn = false;
    },
    lost: (welcomed) => {
      if (!welcomed) void knock();
    },
  });
  const sound = new Sound(speaker, () =>
    follower.state === null ? null : { ...follower.state, houseTime: (device) => follower.soundTime(device) },
  );
  hint.classList.toggle("stands", speaker.locked);
  everyFrame((aim) => {
    const at = follower.houseTime(aim);
    if (!drawn || (at !== null && (!drawnInTime || klass.isStale(at)))) {
      drawn = true;
      drawnInTime = at !== null;
      draw(follower, at);
      sound.look();
    }
    if (at !== null) klass.frame(at);
    sheet.frame(aim);
  });
}

/**
 * A house turns away the connection of a wall that it does not know. The wall cannot tell that from other troubles, so
 * it asks to be let in; one that is known keeps its number.
 */
async function knock(): Promise<void> {
  // The socket tries again meanwhile: without the first answer, a second knock would get another number.
  if (knocking) return;
  knocking = true;
  const asked = await post("/api/walls");
  // Without any answer it is the house that is not found.
  problem = asked.ok || asked.status === 0 ? null : asked.problem;
  drawn = false;
  knocking = false;
}

function draw({ state, welcome, noClass, connection }: Follower, at: number | null): void {
  const house = welcome?.house ?? "";
  alone.classList.toggle("stands", connection !== "connected" && state !== null);
  stop.root.hidden = !(state?.clock.stopped ?? false);
  hint.hidden = !stop.root.hidden;
  if (!stop.root.hidden) {
    stop.show(welcome?.emergency ?? "");
    sheet.close();
  }

  if (welcome?.role === "wall" && !welcome.accepted && state === null) {
    show(pairing);
    pairing.show(house, welcome.number);
  } else if (state === null || at === null) {
    show(message);
    if (problem !== null) message.show(house, "This wall was not taken in", problem);
    else if (noClass !== null) message.show(house, "No class now", noClass);
    else message.show(house, "Looking for the house", "This wall comes in by itself as soon as it is found.");
  } else if (state.clock.phase.phase === "gathering") {
    show(gathering);
    gathering.show(house, state);
  } else {
    show(klass);
    klass.show(state, at, welcome?.places ?? true);
  }
}

/** Shown before it is filled, because type is fitted to boxes that have a size. */
function show(view: (typeof views)[number]): void {
  for (const each of views) each.root.hidden = each !== view;
  if (view !== klass) klass.rest();
}

/** OK on a remote opens the settings too; the first key of all lets sound through, and does no more. */
function keys(event: KeyboardEvent): void {
  const { key } = event;
  if (event.ctrlKey || event.altKey || event.metaKey || !stop.root.hidden) return;
  if (sheet.open && sheet.key(event)) event.preventDefault();
  else if (key === "t") setTheme(theme() === "daylight" ? "dark-room" : "daylight");
  else if (key === "s" || (key === "Enter" && !sheet.open && !hint.classList.contains("stands"))) {
    event.preventDefault();
    sheet.toggle();
  }
}

let pointing: ReturnType<typeof setTimeout> | undefined;
function pointed(): void {
  document.body.dataset.pointing = "";
  clearTimeout(pointing);
  pointing = setTimeout(() => delete document.body.dataset.pointing, POINTING_MS);
}

/** The wall's own theme: `?theme=daylight` in its address, or the key t; dark room where neither says. */
function chooseTheme(): void {
  const asked = new URLSearchParams(location.search).get("theme");
  setTheme((asked === "daylight" || asked === "dark-room" ? asked : theme("dark-room")) satisfies Theme);
}

chooseTheme();
addEventListener("keydown", keys);
addEventListener("pointermove", pointed);
addEventListener("resize", () => {
  rearranged();
  drawn = false;
});
document
  .getElementById("app")
  ?.append(...views.map(({ root }) => root), alone, hint, sheet.mark, sheet.root, stop.root);
show(message);
stop.root.hidden = true;
keepAwake();
// Type is fitted to its boxes once, so the fonts come first.
const fonts = ["400 1rem B612", "700 1rem B612"].map((font) => document.fonts.load(font).catch(() => []));
void Promise.all(fonts).then(begin);
