/**
 * What is read out of a count, in one polite region: where it stands once it has come to rest. Counting by ones is
 * faster than speech, and what was said is not said again. Pure but for the given time.
 */
import { SECOND } from "../shared/clock";

/** A count that stands so long is read out (common practice: two touches in a row are over by then). */
const RESTS_US = 0.6 * SECOND;

export class Spoken {
  /** What is read out. */
  text = "";
  private next = "";
  private since = 0;

  /** The count as it stands at a device time. */
  count(text: string, now: number): void {
    if (text === this.next) return;
    this.next = text;
    this.since = now;
  }

  /** Takes over what has come to rest; tells whether there is something new to say. */
  rests(now: number): boolean {
    if (this.next === this.text || now - this.since < RESTS_US) return false;
    this.text = this.next;
    return true;
  }
}
