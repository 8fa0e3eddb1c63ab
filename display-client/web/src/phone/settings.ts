/** What the athlete has set on this phone, and who they are in which class; kept in the browser. */
import type { AthleteId, ClassId } from "../shared/wire";

export interface Settings {
  type: "plain" | "large";
  hand: "right" | "left";
  sound: boolean;
}

const SETTINGS_KEY = "floorbell.phone";
const ME_KEY = "floorbell.me";
const WHOM_KEY = "floorbell.whom";
const FIRST: Settings = { type: "plain", hand: "right", sound: false };

export const settings = (): Settings => ({ ...FIRST, ...read<Partial<Settings>>(SETTINGS_KEY) });

/** Keeps the settings, and shows the page by them. */
export function setSettings(chosen: Settings): void {
  document.documentElement.dataset.type = chosen.type;
  document.documentElement.dataset.hand = chosen.hand;
  write(SETTINGS_KEY, chosen);
}

/**
 * Who this phone counts for. The right to do so is a cookie, which no page can read; this says only that there should
 * be one.
 */
export interface Me {
  class: ClassId;
  athlete: AthleteId;
}

export const me = (): Me | null => read<Me>(ME_KEY);
export const setMe = (who: Me | null): void => write(ME_KEY, who);

/** For whom touches count now, kept so that a reload does not give them to somebody else; null: the own athlete. */
export const whom = (): AthleteId | null => read<AthleteId>(WHOM_KEY);
export const setWhom = (athlete: AthleteId | null): void => write(WHOM_KEY, athlete);

function read<T>(key: string): T | null {
  try {
    return JSON.parse(localStorage.getItem(key) ?? "null") as T | null;
  } catch {
    return null;
  }
}

function write(key: string, value: unknown): void {
  try {
    localStorage.setItem(key, JSON.stringify(value));
  } catch {
    // It then lasts as long as the page.
  }
}
