/** The devices that follow the class, those in trouble first (rule 2.6). Pure. */
import { SECOND } from "../shared/clock";
import type { DeviceId, DeviceLine, HouseTime, Person } from "../shared/wire";

/** A bound over this is three frames of a screen: its digits may be seen to differ. */
const BOUND_MAX = 50_000;
/** A connected device makes an exchange every 5 to 8 s, so this is silence and no chance (see `follow.ts`). */
const SILENT_FROM = 10 * SECOND;

/** What is wrong with a device, worst first; nothing for one that is well. */
export function troubles({ connected, heard, bound, waiting }: DeviceLine, at: HouseTime): string[] {
  const silent = at - heard >= SILENT_FROM;
  return [
    ...(connected ? (silent ? ["silent"] : []) : ["not connected"]),
    ...(waiting > 0 ? [waitWords(waiting)] : []),
    ...(bound !== null && bound > BOUND_MAX ? ["clock is loose"] : []),
  ];
}

const waitWords = (taps: number): string => (taps === 1 ? "1 tap waits" : `${taps} taps wait`);

/** On which devices taps wait, as words: `5 taps wait on Ida's phone`. */
export function taps(devices: readonly DeviceLine[], people: readonly Person[], own: DeviceId): string[] {
  return devices
    .filter(({ waiting }) => waiting > 0)
    .map((line) => {
      const name = deviceName(line, people, own);
      return `${waitWords(line.waiting)} on ${name === "This device" ? "this device" : name}`;
    });
}

/** The phones and tablets that cannot be reached: nobody can say whether taps wait on them. */
export function outOfReach(devices: readonly DeviceLine[], people: readonly Person[]): string[] {
  return devices
    .filter(({ connected, role }) => !connected && (role === "athlete" || role === "tablet"))
    .map((line) => deviceName(line, people));
}

/** Those in most trouble first, then walls, coach devices, tally tablets and phones, each by name. */
export function byTrouble(
  devices: readonly DeviceLine[],
  people: readonly Person[],
  at: HouseTime,
): DeviceLine[] {
  const weight = (line: DeviceLine) =>
    (line.connected ? 0 : 4) +
    (at - line.heard >= SILENT_FROM ? 2 : 0) +
    (troubles(line, at).length > 0 ? 1 : 0);
  const kind = ({ role }: DeviceLine) => ["wall", "coach", "tablet", "athlete"].indexOf(role);
  return [...devices].sort(
    (a, b) =>
      weight(b) - weight(a) ||
      kind(a) - kind(b) ||
      deviceName(a, people).localeCompare(deviceName(b, people), undefined, { numeric: true }),
  );
}

/** How many there are, and how many are in trouble. */
export function devicesWords(devices: readonly DeviceLine[], at: HouseTime): string {
  const wrong = devices.filter((line) => troubles(line, at).length > 0).length;
  if (devices.length === 0) return "None yet.";
  return `${devices.length} in all, ${wrong === 0 ? "none" : wrong} in trouble`;
}

/** `Wall 2`, `Coach device`, `Ida's phone`; `This device`, where it is known which that is. */
export function deviceName(line: DeviceLine, people: readonly Person[], own?: DeviceId): string {
  if (line.device === own) return "This device";
  switch (line.role) {
    case "wall":
      return `Wall ${line.number}`;
    case "tablet":
      return `Tally tablet ${line.number}`;
    case "coach":
      return "Coach device";
    case "athlete": {
      const name = people.find(({ athlete }) => athlete === line.athlete)?.name;
      return name === undefined ? "A phone" : `${name}'s phone`;
    }
  }
}

/** Which other devices have not confirmed the stop notice: those that should, and those that cannot be reached. */
export function unconfirmed(
  devices: readonly DeviceLine[],
  people: readonly Person[],
  own: DeviceId,
): { waitingFor: string[]; outOfReach: string[] } {
  const names = (connected: boolean) =>
    devices
      .filter((line) => !line.stop_seen && line.connected === connected && line.device !== own)
      .map((line) => deviceName(line, people))
      .sort((a, b) => a.localeCompare(b, undefined, { numeric: true }));
  return { waitingFor: names(true), outOfReach: names(false) };
}
