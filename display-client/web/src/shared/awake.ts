/**
 * Keeps the screen awake: by a wake lock where the page is secure, else by a muted, looping video of a blank canvas.
 * Whether the second does so on a real phone has not been tried.
 */
export type Awake = "wake-lock" | "video" | "off";

/** Starts keeping awake, now and whenever the page comes back; tells how. Call it from a touch where there is one. */
export function keepAwake(told: (how: Awake) => void = () => {}): void {
  const ask = async () => {
    if (document.visibilityState === "hidden") return;
    told((await lock()) ? "wake-lock" : (await playBlank()) ? "video" : "off");
  };
  document.addEventListener("visibilitychange", ask);
  addEventListener("pointerdown", ask, { once: true });
  void ask();
}

async function lock(): Promise<boolean> {
  if (!("wakeLock" in navigator)) return false;
  try {
    await navigator.wakeLock.request("screen");
    return true;
  } catch {
    return false;
  }
}

let blank: HTMLVideoElement | undefined;

async function playBlank(): Promise<boolean> {
  try {
    blank ??= blankVideo();
    await blank.play();
    return true;
  } catch {
    return false;
  }
}

function blankVideo(): HTMLVideoElement {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = 2;
  const video = document.createElement("video");
  video.muted = video.loop = video.playsInline = true;
  video.srcObject = canvas.captureStream(1);
  video.setAttribute("aria-hidden", "true");
  video.style.cssText = "position:fixed;width:1px;height:1px;opacity:0.01;pointer-events:none";
  document.body.append(video);
  // A stream with no new frames may stall, and a stalled video keeps nothing awake.
  const context = canvas.getContext("2d");
  setInterval(() => context?.fillRect(0, 0, 2, 2), 1000);
  return video;
}
