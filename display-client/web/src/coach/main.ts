/**
 * The coach page: the way in, the sheets while no class is open, and the class. A message, a touch or a bell draws it
 * anew, at most once a frame; the frame loop itself changes the digits and nothing else.
 */
import "../shared/theme.css";
import "./controls.css";
import "./calls.css";
import "./frame.css";
import "./panels.css";
import "./counts.css";
import "./sheets.css";
import { html, render, type TemplateResult } from "lit-html";
import { get } from "../shared/api";
import { keepAwake } from "../shared/awake";
import { Follower } from "../shared/follow";
import { everyFrame } from "../shared/frames";
import { Outbox } from "../shared/outbox";
import { socketAddress } from "../shared/socket";
import { setTheme, theme } from "../shared/theme";
import { Entrance } from "./entrance";
import { frame } from "./frame";
import { keyCall, pressOf } from "./keys";
import { Live } from "./live";
import { rollKeyed } from "./roll-panel";
import { Settings } from "./settings";
import { Sheets } from "./sheets";

/** Its own name: a phone page of the same browser has taps of its own. */
const OUTBOX = "floorbell.coach";

interface Inside {
  live: Live;
  sheets: Sheets;
}

let inside: Inside | null = null;
let drawn = false;
const app = document.getElementById("app") as HTMLElement;
const changed = () => {
  drawn = false;
};
const entrance = new Entrance(() => void enter(), changed);

/** Signed in: follow the house. */
async function enter(): Promise<void> {
  const outbox = await Outbox.open(OUTBOX);
  let wasOver = false;
  const follower: Follower = new Follower({
    addresses: [socketAddress(location, "coach")],
    waiting: () => inside?.live.counting.waiting ?? 0,
    settled: () => inside?.live.counting.settled(),
    changed,
    onMessage(message) {
      inside?.live.heard(message);
      const over = follower.state?.closed ?? message.type === "no-class";
      if (over !== wasOver && over) void inside?.sheets.fetch();
      wasOver = over;
      inside?.live.settings.look();
    },
    // Turned away unheard: the sign-in may have run out.
    lost: (welcomed) => {
      if (!welcomed)
        void get("/api/classes").then((answer) => !answer.ok && answer.status === 401 && leave());
    },
  });
  const source = () =>
    follower.state === null
      ? null
      : { ...follower.state, houseTime: (device: number) => follower.soundTime(device) };
  const settings = new Settings(source, leave, changed);
  const live = new Live(follower, settings, outbox, changed);
  inside = { live, sheets: new Sheets(settings, changed) };
  keepAwake();
}

/** Signed out: the plainest way to forget everything is to come in anew. */
function leave(): void {
  location.reload();
}

function page(): TemplateResult {
  if (inside === null) return entrance.draw();
  const { live, sheets } = inside;
  const shown = live.shown();
  const { noClass, welcome, connection } = live.follower;
  const closed = shown?.state.closed ?? false;
  if (shown !== null && (!closed || live.lookBack)) return frame(shown);
  if (noClass !== null || closed) return sheets.draw(welcome?.house ?? "", closed ? live : null);
  const text = connection === "connected" ? "One moment …" : "Looking for the house …";
  return html`<div class="entrance"><h1>${welcome?.house ?? "floorbell"}</h1><p>${text}</p></div>`;
}

/** The token of the one-time link. It is taken out of the address, so that it is not kept in the history. */
function setUpToken(): string | null {
  const token = /^#set-up=(.+)$/.exec(location.hash)?.[1] ?? null;
  if (token !== null) history.replaceState(null, "", location.pathname);
  return token;
}

addEventListener("keydown", (event) => {
  if (event.key === "Escape") inside?.live.lay(null);
  if (inside !== null && rollKeyed(inside.live, pressOf(event))) return event.preventDefault();
  const key = keyCall(pressOf(event));
  if (key === null || inside === null || !inside.live.key(key)) return;
  event.preventDefault();
});

// A button that was touched lets go of the focus, or a clicker's Enter would touch it again.
addEventListener("click", (event) => {
  const focused = document.activeElement;
  if (event.detail > 0 && focused instanceof HTMLButtonElement) focused.blur();
});

setTheme(theme());
void entrance.look(setUpToken());
everyFrame((aim) => {
  inside?.live.frame(aim);
  if (drawn) return;
  drawn = true;
  render(page(), app);
});
