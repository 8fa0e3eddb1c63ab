/**
 * Random ids, 128 bits with the form of a version 4 UUID. Made from getRandomValues, because a page over plain http
 * has no crypto.randomUUID.
 */
export function randomId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = ((bytes[6] ?? 0) & 0x0f) | 0x40;
  bytes[8] = ((bytes[8] ?? 0) & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

/** This browser's own device id, made once and kept; where nothing can be kept, one for this page. */
export function deviceId(): string {
  const key = "floorbell.device";
  try {
    const kept = localStorage.getItem(key);
    if (kept !== null) return kept;
    const made = randomId();
    localStorage.setItem(key, made);
    return made;
  } catch {
    return randomId();
  }
}
