/** Small values for the tests: lengths and instants in seconds. */
import { SECOND } from "../src/shared/clock";
import type { AfterBell, Clock, Segment, SegmentKind } from "../src/shared/wire";

export function segment(
  kind: SegmentKind,
  length: number | null,
  after: AfterBell,
  more: Partial<Segment> = {},
): Segment {
  return {
    block: 0,
    kind,
    length: length === null ? null : length * SECOND,
    planned: (length ?? 60) * SECOND,
    after,
    window: null,
    movement: null,
    lead_in: 0,
    announce: true,
    dropped: false,
    ...more,
  };
}

export function running(index: number, { anchor = 0, atAnchor = 0, added = 0 }): Clock {
  return {
    revision: 1,
    phase: {
      phase: "running",
      segment: index,
      anchor: anchor * SECOND,
      at_anchor: atAnchor * SECOND,
      added: added * SECOND,
    },
    stopped: false,
  };
}
