/** The timers of `ticker.ts`, on a thread that the browser does not slow down with a page in the background. */
self.onmessage = ({
  data: [id, milliseconds],
}: MessageEvent<readonly [id: number, milliseconds: number]>) => {
  setTimeout(() => self.postMessage(id), milliseconds);
};
