/** What the coach sets on this device (sound, theme) and for the house (its name, the stop notice's text). */
import { type Answer, get, post, put } from "../shared/api";
import { Sound, type SoundSource } from "../shared/sound";
import { Speaker } from "../shared/speaker";
import { setTheme, type Theme } from "../shared/theme";

export interface HouseSettings {
  house: string;
  emergency: string;
  /** Whether boards show places; else counts alone. */
  places: boolean;
}

const SOUND_KEY = "floorbell.coach-sound";

export class Settings {
  /** Whether this device sounds the count-in and the bells. */
  sound = keptSound();
  /** The house's settings; null until they were fetched. */
  house: HouseSettings | null = null;
  /** What became of the last save, as a sentence. */
  said = "";
  private cues: Sound | null = null;

  constructor(
    private readonly source: () => SoundSource | null,
    private readonly signedOut: () => void,
    private readonly changed: () => void,
  ) {
    if (this.sound) this.turnSound(true);
  }

  /** Schedules what is due soon, when the clock has changed. */
  look(): void {
    if (this.sound) this.cues?.look();
  }

  turnSound(on: boolean): void {
    this.sound = on;
    keepSound(on);
    if (on) this.cues ??= new Sound(new Speaker(this.changed), () => (this.sound ? this.source() : null));
    this.changed();
  }

  turnTheme(theme: Theme): void {
    setTheme(theme);
    this.changed();
  }

  async fetchHouse(): Promise<void> {
    const answer = await get<HouseSettings>("/api/settings");
    if (answer.ok) this.house = answer.value;
    else this.said = answer.problem;
    this.changed();
  }

  async saveHouse(house: HouseSettings): Promise<void> {
    const answer: Answer<unknown> = await put("/api/settings", house);
    this.said = answer.ok ? "Saved." : answer.problem;
    if (answer.ok) this.house = house;
    this.changed();
  }

  async signOut(): Promise<void> {
    const answer = await post("/api/sign-out");
    if (answer.ok) this.signedOut();
    else this.said = answer.problem;
    this.changed();
  }
}

function keptSound(): boolean {
  try {
    return localStorage.getItem(SOUND_KEY) === "on";
  } catch {
    return false;
  }
}

function keepSound(on: boolean): void {
  try {
    localStorage.setItem(SOUND_KEY, on ? "on" : "off");
  } catch {
    // The choice then lasts as long as the page.
  }
}
