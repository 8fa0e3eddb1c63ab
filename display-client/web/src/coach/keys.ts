/**
 * What a key asks for, so that a presentation clicker or a pedal works: they send the keys that turn slides. Pure.
 *
 * On: Page Down, right arrow, space, Enter. Hold: Page Up, left arrow, and the two keys by which clickers blank the
 * screen, "b" and the full stop. Nothing while somebody types; and a button that was reached with the Tab key keeps
 * its own space and Enter.
 */
export interface KeyPress {
  /** As in `KeyboardEvent.key`. */
  key: string;
  /** Whether the key is kept down. */
  repeat: boolean;
  /** Whether Control, Alt or the like is down too: that is the browser's. */
  modified: boolean;
  /** What has the focus. */
  target: "field" | "control" | "page";
}

const KEYS = new Map<string, "onward" | "hold">([
  ["PageDown", "onward"],
  ["ArrowRight", "onward"],
  [" ", "onward"],
  ["Enter", "onward"],
  ["PageUp", "hold"],
  ["ArrowLeft", "hold"],
  ["b", "hold"],
  ["B", "hold"],
  [".", "hold"],
]);

export function keyCall({ key, repeat, modified, target }: KeyPress): "onward" | "hold" | null {
  if (repeat || modified || target === "field") return null;
  if (target === "control" && (key === " " || key === "Enter")) return null;
  return KEYS.get(key) ?? null;
}

/** The press of an event in the page. */
export function pressOf(event: KeyboardEvent): KeyPress {
  const element = event.target instanceof Element ? event.target : null;
  const field = element?.closest("input, textarea, select, [contenteditable]");
  const control = element?.closest("button, a[href], summary, label");
  return {
    key: event.key,
    repeat: event.repeat,
    modified: event.ctrlKey || event.altKey || event.metaKey,
    target: field != null ? "field" : control != null ? "control" : "page",
  };
}
