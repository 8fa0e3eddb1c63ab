// Runs one part of the bench in a process of its own, which stands beside the house; run.mjs starts it.
//
//   node part.mjs '{"part": "A", "kind": "screens", "path": "loopback", "seconds": 300}'

import { alone } from "./parts/alone.mjs";
import { restart } from "./parts/restart.mjs";
import { screens } from "./parts/screens.mjs";
import { stop } from "./parts/stop.mjs";

const KINDS = { alone, restart, screens, stop };
const { kind, ...bench } = JSON.parse(process.argv[2]);
await KINDS[kind](bench, (line) => process.stdout.write(`${JSON.stringify(line)}\n`));
process.disconnect();
