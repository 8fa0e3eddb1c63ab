// A WebSocket (RFC 6455) for one purpose: text frames to a server on the same machine, each dated as it is handed to
// the kernel and as it comes from it. Frames that are split over several are not supported; the house sends none.

import { randomBytes } from "node:crypto";
import { connect } from "node:net";

const [TEXT, CLOSE, PING, PONG] = [1, 8, 9, 10];

/** Host time in microseconds: CLOCK_MONOTONIC, which all processes of the machine share. */
export const hostNow = () => Number(process.hrtime.bigint()) / 1000;

/** Opens a WebSocket; `heard(text, at)` takes what comes. Resolves once it is open, with `send`, `closed` and `end`. */
export async function openWebSocket(address, { protocol, token }, heard) {
  const url = new URL(address);
  const socket = connect({ host: url.hostname, port: Number(url.port), noDelay: true });
  const closed = new Promise((resolve) => socket.once("close", resolve));
  // A server that was killed resets the connection; its end is told by `closed`.
  socket.on("error", () => {});
  await Promise.race([new Promise((resolve) => socket.once("connect", resolve)), closed]);
  const key = randomBytes(16).toString("base64");
  socket.write(
    [
      `GET ${url.pathname}${url.search} HTTP/1.1`,
      `Host: ${url.host}`,
      "Connection: Upgrade",
      "Upgrade: websocket",
      "Sec-WebSocket-Version: 13",
      `Sec-WebSocket-Key: ${key}`,
      `Sec-WebSocket-Protocol: ${protocol}`,
      `Authorization: Bearer ${token}`,
      "\r\n",
    ].join("\r\n"),
  );
  let rest = Buffer.alloc(0);
  let open = false;
  const send = (kind, body) => socket.write(frame(kind, body));
  const opened = new Promise((resolve) => {
    socket.on("data", (data) => {
      const at = hostNow();
      rest = Buffer.concat([rest, data]);
      if (!open) {
        const end = rest.indexOf("\r\n\r\n");
        if (end < 0) return;
        if (!rest.toString("latin1", 0, end).startsWith("HTTP/1.1 101")) return socket.destroy();
        open = true;
        rest = rest.subarray(end + 4);
        resolve(true);
      }
      for (let next = parse(rest); next !== null; next = parse(rest)) {
        rest = rest.subarray(next.length);
        if (next.kind === TEXT) heard(next.body.toString(), at);
        else if (next.kind === PING) send(PONG, next.body);
        else if (next.kind === CLOSE) socket.end();
      }
    });
  });
  if (!(await Promise.race([opened, closed.then(() => false)]))) return null;
  return { send: (text) => send(TEXT, Buffer.from(text)), closed, end: () => socket.destroy() };
}

/** One masked frame, as a client sends it. */
function frame(kind, body) {
  const long = body.length > 125;
  if (body.length > 0xffff) throw new Error("too long for this client");
  const header = Buffer.from([
    0x80 | kind,
    0x80 | (long ? 126 : body.length),
    ...(long ? [body.length >> 8, body.length & 0xff] : []),
  ]);
  const mask = randomBytes(4);
  return Buffer.concat([header, mask, body.map((byte, index) => byte ^ mask[index & 3])]);
}

/** The frame at the start of `data`; null until all of it is there. */
function parse(data) {
  if (data.length < 2) return null;
  const short = data[1] & 0x7f;
  const start = short === 126 ? 4 : short === 127 ? 10 : 2;
  if (data.length < start) return null;
  const length =
    short === 126 ? data.readUInt16BE(2) : short === 127 ? Number(data.readBigUInt64BE(2)) : short;
  if (data.length < start + length) return null;
  return { kind: data[0] & 0x0f, body: data.subarray(start, start + length), length: start + length };
}
