/** The sounds of the athlete's own timer, all scheduled ahead on the audio clock when it starts (rule 2.5). */
import { type Plan, ticks } from "./timer";

let context: AudioContext | undefined;
let out: GainNode | undefined;

/** Starts the sounds of a timer; those of a former one end. Call it from a touch, or the browser stays silent. */
export function startBeeps(plan: Plan): void {
  stopBeeps();
  context ??= new AudioContext();
  void context.resume();
  out = new GainNode(context, { gain: 0.4 });
  out.connect(context.destination);
  for (const { at, strong } of ticks(plan)) {
    const begin = context.currentTime + at;
    const tone = new OscillatorNode(context, { type: "sine", frequency: strong ? 880 : 587 });
    const shape = new GainNode(context, { gain: 0 });
    shape.gain.setValueAtTime(1, begin);
    shape.gain.exponentialRampToValueAtTime(0.001, begin + (strong ? 0.25 : 0.08));
    tone.connect(shape).connect(out);
    tone.start(begin);
    tone.stop(begin + 0.3);
  }
}

export function stopBeeps(): void {
  out?.disconnect();
  out = undefined;
}
