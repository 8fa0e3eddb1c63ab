// A line to the house that can be cut and mended: a small TCP forwarder. A browser's own "offline" leaves open
// WebSockets as they are; a cut line does not.

import { once } from "node:events";
import { connect, createServer } from "node:net";

/** Opens a line to a house. `base` is the address at its near end. */
export async function openLine(house) {
  const { port, hostname } = new URL(house.base);
  const open = new Set();
  let cut = false;
  const server = createServer((near) => {
    const far = connect(Number(port), hostname);
    for (const [end, other] of [[near, far], [far, near]]) {
      open.add(end);
      end.on("error", () => {});
      end.on("close", () => {
        open.delete(end);
        other.destroy();
      });
      end.pipe(other);
    }
    if (cut) near.destroy();
  });
  server.listen(0, "127.0.0.1");
  await once(server, "listening");
  return {
    base: `http://127.0.0.1:${server.address().port}`,
    /** Breaks what is under way, and lets nothing through. */
    cut() {
      cut = true;
      for (const end of open) end.destroy();
    },
    mend() {
      cut = false;
    },
    async close() {
      cut = true;
      for (const end of open) end.destroy();
      server.close();
      await once(server, "close");
    },
  };
}
