/** Dark room or daylight, chosen on the device and kept there. */
export type Theme = "dark-room" | "daylight";

const KEY = "floorbell.theme";

/** The kept choice; without one `otherwise`, or what the device prefers. */
export function theme(otherwise?: Theme): Theme {
  try {
    const kept = localStorage.getItem(KEY);
    if (kept === "dark-room" || kept === "daylight") return kept;
  } catch {
    // A browser that keeps nothing still has a preference.
  }
  if (otherwise !== undefined) return otherwise;
  return matchMedia("(prefers-color-scheme: light)").matches ? "daylight" : "dark-room";
}

/** Shows the page in a theme, and keeps the choice. */
export function setTheme(chosen: Theme): void {
  document.documentElement.dataset.theme = chosen;
  try {
    localStorage.setItem(KEY, chosen);
  } catch {
    // The choice then lasts as long as the page.
  }
}
